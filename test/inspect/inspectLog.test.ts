import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { readLog } from "../../lib/capture/readLog.ts";
import { countCodes } from "../../lib/inspect/countCodes.ts";
import { courseOf } from "../../lib/inspect/courseOf.ts";
import { inspectLog } from "../../lib/inspect/inspectLog.ts";
import { starterBench } from "../../lib/inspect/starterBench.ts";
import { describeValues } from "../../lib/signal/descriptive.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { bytesOf } from "../capture/describeLog.ts";
import { SIGNALS } from "../capture/signals.ts";

const inspect = (rows: readonly (string | number)[], hints = {}) =>
  inspectLog(readLog(bytesOf(rows.map((r) => `${r}\n`).join("")), hints));

describe("countCodes", () => {
  it("agrees with the plain two-pass figures, wide and narrow ranges alike", () => {
    for (const [name, make] of Object.entries(SIGNALS)) {
      const codes = Int32Array.from(make(3000));
      const plain = describeValues(codes);
      const counted = countCodes(codes);
      expect(counted, name).toMatchObject({ min: plain.min, max: plain.max, distinct: new Set(codes).size });
      // Both are exact sums of at most 3000 squares; rounding of the mean leaves 1e-12.
      expect(counted.mean / plain.mean, name).toBeCloseTo(1, 12);
      expect(counted.sd / plain.sd, name).toBeCloseTo(1, 10);
    }
  });
  it("counts set bits, negative words in 32-bit two's complement", () => {
    expect(countCodes(Int32Array.of(1, 3, 4)).ones.slice(0, 4)).toEqual([2 / 3, 1 / 3, 1 / 3, 0]);
    expect(countCodes(Int32Array.of(-1, -1)).ones.every((share) => share === 1)).toBe(true);
  });
});

describe("bits that the codes suggest", () => {
  const bits = (codes: number[]) => inspect(codes).channels[0]!.bits!;
  it("is the next usual width", () => {
    expect(bits([0, 200, 17])).toMatchObject({ bits: 8, needed: 8, signed: false });
    expect(bits([0, 700])).toMatchObject({ bits: 10 });
    expect(bits(SIGNALS.sine!(200))).toMatchObject({ bits: 12, needed: 12 });
    expect(bits([-2048, 2047])).toMatchObject({ bits: 12, signed: true });
    expect(bits([65_535, 1])).toMatchObject({ bits: 16 });
  });
  it("sees left alignment", () => {
    expect(bits(SIGNALS.sine!(200).map((v) => v << 4))).toMatchObject({ bits: 16, unusedLowBits: 4 });
  });
  it("shows a bit that never changes", () => {
    const stuck = bits(SIGNALS.scattered!(500).map((v) => v | 8));
    expect(stuck.activity[3]).toEqual({ bit: 3, ones: 1, changes: 0 });
    // A fair bit changes between half of all neighbours: 500 of them leave ±7 %.
    expect(stuck.activity[0]!.changes).toBeGreaterThan(0.43);
    expect(stuck.activity[0]!.changes).toBeLessThan(0.57);
  });
});

describe("how the readings run", () => {
  const random = seededRandom(3);
  const noisy = (n: number, at: (i: number) => number, sd = 0.7): Float64Array =>
    Float64Array.from({ length: n }, (_, i) => Math.round(at(i) + sd * random.normal()));
  const kind = (values: ArrayLike<number>): string => courseOf(values, null).kind;

  it("a sine and its frequency", () => {
    const course = courseOf(
      noisy(4096, (i) => 2048 + 1900 * Math.sin(2 * Math.PI * 0.01234 * i)),
      50_000,
    );
    expect(course.kind).toBe("sine");
    // 4096 readings at 60 dB fix the frequency to better than a millionth.
    expect(course.frequency! / 617).toBeCloseTo(1, 6);
    expect(course.amplitude).toBeCloseTo(1900, 0);
    expect(course.offset).toBeCloseTo(2048, 0);
  });
  it("sines of every kind: few cycles, many, clipped, small, in noise", () => {
    expect(kind(noisy(1000, (i) => 2048 + 1900 * Math.sin(i * 0.01)))).toBe("sine");
    expect(kind(noisy(1000, (i) => 2048 + 1900 * Math.sin(i * 2.9)))).toBe("sine");
    expect(kind(noisy(1000, (i) => Math.min(4095, Math.max(0, 2048 + 2300 * Math.sin(i * 0.1)))))).toBe("sine");
    expect(kind(noisy(1000, (i) => 2048 + 6 * Math.sin(i * 0.1)))).toBe("sine");
    expect(kind(noisy(4000, (i) => 2048 + 20 * Math.sin(i * 0.1), 10))).toBe("sine");
  });
  it("triangle, ramps, steps, steady", () => {
    expect(kind(noisy(2000, (i) => 4000 * Math.abs(((i / 173) % 1) - 0.5) + 1000))).toBe("triangle");
    expect(kind(noisy(2000, (i) => 10 + 2 * i))).toBe("ramp");
    expect(kind(noisy(2000, (i) => 4090 - 2 * i))).toBe("ramp");
    expect(kind(noisy(3000, (i) => 100 + 3500 * ((i / 301) % 1)))).toBe("repeated ramp");
    const steps = courseOf(
      noisy(1600, (i) => 200 + 240 * Math.floor(i / 100)),
      null,
    );
    expect(steps).toMatchObject({ kind: "steps", levels: 16 });
    expect(kind(noisy(1000, () => 2047, 2))).toBe("steady");
    expect(kind(noisy(1000, () => 2047.4, 0.1))).toBe("steady");
    expect(kind(new Float64Array(1000).fill(7))).toBe("steady");
  });
  it("nothing of the kind, and too little", () => {
    let walk = 0;
    expect(kind(noisy(3000, () => (walk += 20 * random.normal())))).toBe("unclear");
    expect(kind([1, 2, 3])).toBe("too short");
  });
});

describe("inspectLog", () => {
  it("takes the rate from the time stamps, or from a comment", () => {
    const stamped = inspect(["t_us,adc", ...SIGNALS.sine!(500).map((v, i) => `${i * 20},${v}`)]);
    expect(stamped.sampleRate).toMatchObject({ basis: "timestamps", unit: "Hz" });
    expect(stamped.sampleRate!.value).toBeCloseTo(50_000, 6);
    expect(inspect(["# sample rate: 8 kHz", ...SIGNALS.sine!(50)]).sampleRate).toMatchObject({
      value: 8000,
      basis: "comment",
      uncertainty: null,
    });
    expect(inspect(SIGNALS.sine!(50)).sampleRate).toBeNull();
  });
  it("counts a row of two channels once, tagged readings each", () => {
    expect(inspect(["adc0,adc1", ...SIGNALS.sine!(50).map((v) => `${v},${v >> 1}`)]).readings).toBe(50);
    expect(inspect(SIGNALS.sine!(50).flatMap((v) => [`A0: ${v}`, `A1: ${v >> 1}`])).readings).toBe(100);
  });
  it("counts what the sequence numbers miss", () => {
    const rows = SIGNALS.sine!(60).map((v, i) => `${i < 30 ? i : i + 4},${v}`);
    expect(inspect(["seq,adc", ...rows]).missing).toEqual({ gaps: 1, readings: 4 });
  });
  it("describes a log of volts in volts", () => {
    const log = inspect(["t_ms,mv", ...SIGNALS.sine!(60).map((v, i) => `${i},${(v * 0.806).toFixed(1)}`)]);
    expect(log.channels[0]).toMatchObject({ unit: "V", bits: null });
    expect(log.channels[0]!.max).toBeLessThan(3.3);
  });
});

describe("starterBench writes a bench file that reads once its blanks are filled", () => {
  const filled = (
    rows: readonly (string | number)[],
    fill: Record<string, string>,
    hints = {},
  ): ReturnType<typeof readBench> => {
    let text = starterBench(inspect(rows, hints), "logs/a b.csv", hints);
    expect(readBench(text, "b.yaml").bench, "blanks are no values").toBeNull();
    for (const [key, value] of Object.entries(fill))
      text = text.replaceAll(new RegExp(`(\\b${key}: )___`, "g"), `$1${value}`);
    expect(text).not.toMatch(/^(?!#).*___/m);
    const read = readBench(text, "b.yaml");
    expect(read.problems).toEqual([]);
    return read;
  };
  const common = { title: "board A", high: "3.3 V", sampleRate: "50 kHz" };

  it("sine", () => {
    const { bench } = filled(SIGNALS.sine!(300), {
      ...common,
      frequency: "997 Hz",
      amplitude: "1.5 V",
      offset: "1.65 V",
    });
    expect(bench!.captures[0]).toMatchObject({
      file: "logs/a b.csv",
      converter: { bits: 12 },
      sampleRate: 50_000,
      stimulus: { kind: "sine" },
    });
  });
  it("two channels, one capture each", () => {
    const { bench } = filled(
      ["t_us,adc0,adc1", ...SIGNALS.sine!(300).map((v, i) => `${i * 20},${v},${2000 + (v % 3)}`)],
      { ...common, frequency: "997 Hz", amplitude: "1.5 V", offset: "1.65 V", voltage: "1.6 V" },
    );
    expect(bench!.captures.map((c) => c.reading.channel)).toEqual(["adc0", "adc1"]);
  });
  it("ramp, steady, steps, triangle, signed, left-aligned, volts, options", () => {
    filled(
      Array.from({ length: 400 }, (_, i) => 10 * i),
      { ...common, from: "0 V", to: "3.3 V" },
    );
    filled(SIGNALS.steady!(300), { ...common, voltage: "1.6 V" });
    filled(
      Array.from({ length: 800 }, (_, i) => 300 * Math.floor(i / 80)),
      { ...common, column: "vin" },
    );
    filled(
      Array.from({ length: 800 }, (_, i) => Math.round(4000 * Math.abs(((i / 97) % 1) - 0.5))),
      { ...common, low: "0 V", high: "3.3 V", frequency: "10 Hz" },
    );
    const signed = filled(SIGNALS.signed!(300), {
      ...common,
      low: "-1.65 V",
      frequency: "997 Hz",
      amplitude: "1 V",
      offset: "0 V",
    });
    expect(signed.bench!.converter.coding).toBe("twos-complement");
    const left = filled(
      SIGNALS.sine!(300).map((v) => v << 4),
      { ...common, frequency: "997 Hz", amplitude: "1.5 V", offset: "1.65 V" },
    );
    expect(left.bench!.converter).toMatchObject({ bits: 12, align: "left", container: 16 });
    const volts = filled(["volts", ...SIGNALS.sine!(300).map((v) => (v * 0.0008).toFixed(5))], {
      ...common,
      bits: "12",
      frequency: "997 Hz",
      amplitude: "1.5 V",
      offset: "1.65 V",
    });
    expect(volts.bench!.captures[0]!.reading.fromVolts).toBe(true);
    const hints = { base: 16, time: 1, timeUnit: "us", sequence: 2, delimiter: ";" } as const;
    const forced = filled(
      SIGNALS.sine!(300).map((v, i) => `${i * 20};${i};${v.toString(16)}`),
      { ...common, frequency: "997 Hz", amplitude: "1.5 V", offset: "1.65 V" },
      hints,
    );
    expect(forced.bench!.captures[0]!.reading).toMatchObject(hints);
  });
});
