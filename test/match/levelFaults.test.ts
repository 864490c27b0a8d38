import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import type { CaptureRecord } from "../../lib/capture/record.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { converter, LEVEL, simulated, spec, steady } from "./simulatedRecord.ts";

const serious = (record: CaptureRecord) => matchRecord(record).findings.filter((f) => f.severity !== "note");
const ids = (record: CaptureRecord): string[] => serious(record).map((f) => f.id);
const changed = (record: CaptureRecord, apply: (code: number, n: number) => number): CaptureRecord => ({
  ...record,
  codes: record.codes.map(apply),
});
const level = (voltage: number, noise: number, seed: number, readings = 1000): CaptureRecord =>
  simulated(spec(steady(voltage)), [`noise=${noise}`, "dnl=0.1"], { readings, seed, converterSeed: seed }).record;
/** Codes an LSB apart at 12 bits and 2.5 V. */
const Q = 2.5 / 4096;

describe("bits that stand still in a quiet level", () => {
  it("low bits that are 0 show where noise jumps over the codes between", () => {
    // Noise of 0.8 LSB about the edge between two multiples of four.
    for (let seed = 1; seed <= 10; seed++) {
      const record = level(1600 * Q, 0.8, seed);
      expect(ids(changed(record, (y) => y & ~3))).toEqual(["narrower-than-declared"]);
      expect(ids(record)).toEqual([]);
    }
  });
  it("one code left out is a missing code or bit 0, and is said to be either", () => {
    for (let seed = 1; seed <= 10; seed++) {
      const found = serious(changed(level(1600 * Q, 0.5, seed), (y) => y & ~1));
      expect(found.map((f) => f.id)).toEqual(["stuck-bit"]);
      expect(found[0]!.text).toMatch(
        /bit 0 is always 0, or the converter misses that code|bit 0 \(weight 1\) is always 0/,
      );
    }
  });
  it("a level that switches between codes four apart is telegraph noise, and no bit", () => {
    const random = seededRandom(3);
    let up = 0;
    const record = changed(level(1600.5 * Q, 0, 1, 4000), (y) => {
      if (random.uniform() < 1 / 60) up = 4 - up;
      return y + up;
    });
    expect(ids(record)).toEqual(["telegraph-noise"]);
  });
});

const steps = (count: number, each: number, from = 0.06, step = 2.38 / (count - 1)): Stimulus => ({
  kind: "steps",
  column: null,
  levels: Array.from({ length: count }, (_, i) => ({ voltage: from + step * i, readings: each })),
  direction: "up",
  accuracy: LEVEL,
});
const staircase = (stimulus: Stimulus, noise: number, seed: number, bits = 12): CaptureRecord =>
  simulated(spec(stimulus, { converter: converter({ bits }) }), [`noise=${noise}`, "dnl=0.1", "bow=1"], {
    readings: stimulus.kind === "steps" ? stimulus.levels!.reduce((sum, l) => sum + l.readings, 0) : 0,
    seed,
    converterSeed: seed,
  }).record;

describe("low bits on a staircase", () => {
  it("that are 0 on 17 quiet levels are no chance: 2^−34", () => {
    for (let seed = 1; seed <= 10; seed++) {
      const record = staircase(steps(17, 40), 0.15, seed);
      expect(ids(changed(record, (y) => y & ~3))).toEqual(["narrower-than-declared"]);
      expect(ids(record)).toEqual([]);
    }
  });
  it("that are 0 because the levels are whole multiples of 64 codes say nothing", () => {
    for (let seed = 1; seed <= 10; seed++) {
      const record = simulated(spec(steps(17, 40, 128 * Q, 128 * Q)), ["noise=0.05"], {
        readings: 17 * 40,
        seed,
        converterSeed: seed,
      }).record;
      expect(ids(record)).toEqual([]);
    }
  });
});

describe("levels of a staircase that are not those stated", () => {
  const record = staircase(steps(17, 40), 0.5, 4);
  /** Readings of level i taken from level from(i). */
  const taken = (from: (i: number) => number): CaptureRecord =>
    changed(record, (_, n) => record.codes[from(Math.floor(n / 40)) * 40 + (n % 40)]!);

  it("two that changed places are named, and give no line", () => {
    const found = serious(taken((i) => (i === 5 ? 6 : i === 6 ? 5 : i)));
    expect(found.map((f) => [f.id, f.severity])).toEqual([["amplitude-mismatch", "error"]]);
    expect(found[0]!.readings.map(([first]) => Math.floor(first / 40))).toEqual([5, 6]);
    expect(found[0]!.nulls).toContain("inlMax");
  });
  it("all the other way round are told as that", () => {
    const found = serious(taken((i) => 16 - i));
    expect(found.map((f) => f.id)).toEqual(["amplitude-mismatch"]);
    expect(found[0]!.text).toContain("the other way round");
  });
  it("the last two at one code are flattened, and no stuck bit", () => {
    // The 15th level of 17 stands at 0.06 + 14·0.149 V, code 3506.
    const found = serious(changed(record, (y) => Math.min(y, 3520)));
    expect(found.map((f) => f.id)).toEqual(["clipped"]);
    expect(found[0]!.readings.map(([first]) => Math.floor(first / 40))).toEqual([15, 16]);
  });
});

describe("a quiet level of 16-bit words", () => {
  it("with its bytes exchanged is told by where it is stated", () => {
    const wide = { converter: converter({ bits: 16 }) };
    const { record } = simulated(spec(steady(1.118), wide), ["noise=0.1"], { readings: 500, seed: 2 });
    expect(ids(changed(record, (y) => ((y & 255) << 8) | (y >> 8)))).toEqual(["byte-swapped"]);
  });
});

describe("what only looks like a fault of a level", () => {
  it("pulses with a height and a course of their own are no telegraph noise", () => {
    // As heart beats come: 330 LSB high and some readings wide, every 480 readings, on a level with noise of 20 LSB.
    for (let seed = 1; seed <= 5; seed++) {
      const random = seededRandom(seed);
      const beats = Array.from({ length: 21 }, (_, i) => ({
        at: 480 * (i + random.uniform() / 4),
        high: 330 + 60 * random.normal(),
      }));
      const pulse = (n: number): number =>
        beats.reduce((sum, { at, high }) => sum + high * Math.exp(-(((n - at) / 9) ** 2)), 0);
      const record = changed(level(1600 * Q, 20, seed, 10_000), (y, n) => y + Math.round(pulse(n)));
      expect(ids(record)).not.toContain("telegraph-noise");
    }
  });
  it("the turning level of two readings stands apart from its neighbours, and not from what is applied", () => {
    // 40 levels up and down, two readings each, 47 codes apart, gain off by 0.4 %; one reading really stands apart.
    const volts = Array.from({ length: 40 }, (_, i) => 0.1 + i * 47 * Q);
    const stimulus: Stimulus = {
      kind: "steps",
      column: null,
      levels: [...volts, ...volts.slice().reverse()].map((voltage) => ({ voltage, readings: 2 })),
      direction: "both",
      accuracy: LEVEL,
    };
    for (let seed = 1; seed <= 5; seed++) {
      const { record } = simulated(spec(stimulus), ["noise=0.8", "converter-gain=0.4"], { seed });
      expect(ids(record)).toEqual([]);
      const upset = serious(changed(record, (y, n) => (n === 51 ? y + 256 : y)));
      expect(upset.find((f) => f.id === "outliers")?.readings).toEqual([[51, 51]]);
    }
  });
});
