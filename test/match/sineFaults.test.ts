import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { neighbourTones } from "../../lib/match/neighbourTone.ts";
import { twoLevels } from "../../lib/match/twoLevels.ts";
import { takeHarmonicsOff } from "../../lib/match/withoutHarmonics.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { converter, simulated, sine, spec } from "./simulatedRecord.ts";

const READINGS = 8192;
const found = (...args: Parameters<typeof simulated>) => matchRecord(simulated(...args).record).findings;
const textOf = (findings: ReturnType<typeof found>, id: string): string =>
  findings.find((f) => f.id === id)?.text ?? "";

describe("soft clipping", () => {
  it("tells by how much both peaks fall short", () => {
    const text = textOf(found(spec(sine(997)), ["compressed=5"], { readings: READINGS }), "clipped");
    const shares = [...text.matchAll(/\(([\d.]+) %/g)].map((m) => Number(m[1]));
    expect(shares).toHaveLength(2);
    // tanh loses 5 % by construction; its cubic part, which is what is fitted, is k²/3 = 5.3 % of an amplitude that is itself 4 % smaller.
    for (const share of shares) expect(Math.abs(share - 5.3)).toBeLessThan(0.5);
  });
  it("nulls what it spoils, and names no second fault", () => {
    const findings = found(spec(sine(997)), ["compressed=5"], { readings: READINGS });
    expect(findings.filter((f) => f.severity !== "note").map((f) => f.id)).toEqual(["clipped"]);
    expect(findings.find((f) => f.id === "clipped")?.nulls).toContain("thd");
  });
  it("a bent converter of few bits is no saturation", () => {
    const bent = spec(sine(997), { converter: converter({ bits: 8 }) });
    for (const faults of [
      ["bow=3", "noise=0.5"],
      ["bow=-3", "noise=0.5"],
      ["s-curve=1", "noise=0.3"],
      ["s-curve=-1", "noise=0.3"],
    ])
      expect(textOf(found(bent, faults, { readings: READINGS }), "clipped")).toBe("");
  });
  it("a source that states its distortion is believed", () => {
    const impure = { ...sine(997), purity: { thd: -34, snr: null } } as ReturnType<typeof sine>;
    // 5 % of a cubic is a third harmonic of 1/80 of the amplitude: −38 dB.
    expect(textOf(found(spec(impure), ["compressed=5"], { readings: READINGS }), "clipped")).toBe("");
  });
});

describe("a sine that moves", () => {
  it("tells how far its amplitude moves", () => {
    const text = textOf(found(spec(sine(997)), ["gain-drift=8"], { readings: READINGS }), "drifting");
    // Standard deviation of the slope: √(12·2/8192)·0.6 LSB = 0.03 LSB; a tenth covers the rounding of the text and the converter.
    expect(Number(/amplitude of the sine moves by ([\d.]+) LSB/.exec(text)?.[1])).toBeCloseTo(8, 0);
  });
  it("tells a warm-up of the middle, also of few cycles", () => {
    const text = textOf(found(spec(sine(30)), ["warm-up=6"], { readings: READINGS }), "drifting");
    // The simulator starts 6 LSB low with a time constant of a fifth of the record.
    expect(text).toMatch(/middle of the sine begins (5\.[5-9]|6\.[0-5])\d* LSB too low/);
    expect(text).toContain("20 % of the record");
  });
  it("a steady sine of few cycles with a converter's own curve does not move", () => {
    for (let seed = 1; seed <= 20; seed++)
      expect(
        textOf(found(spec(sine(25 + seed)), ["bow=2", "noise=0.3"], { readings: READINGS, seed }), "drifting"),
      ).toBe("");
  });
});

describe("hum beside a tone", () => {
  it("is found in a record of eight periods of the mains", () => {
    const text = textOf(
      found(spec(sine(83), { sampleRate: 500 }), ["hum=3:60"], { readings: 80, seed: 2 }),
      "mains-hum",
    );
    // Three LSB; noise leaves √(2/80)·0.6 LSB = 0.1 LSB on it.
    expect(Math.abs(Number(/([\d.]+) LSB at 60 Hz/.exec(text)?.[1]) - 3)).toBeLessThan(0.5);
  });
  it("is found a bin and a half beside a harmonic", () => {
    // Twice 24 Hz is 48 Hz; a bin is 1.22 Hz.
    const text = textOf(
      found(spec(sine(24.1), { sampleRate: 10_000 }), ["hum=2"], { readings: READINGS }),
      "mains-hum",
    );
    expect(text).toContain("at 50 Hz");
  });
});

describe("telegraph noise beside a tone", () => {
  it("tells the distance of the levels", () => {
    const text = textOf(found(spec(sine(997)), ["telegraph=4", "noise=1"], { readings: READINGS }), "telegraph-noise");
    expect(Math.abs(Number(/two levels ([\d.]+) LSB apart/.exec(text)?.[1]) - 4)).toBeLessThan(0.3);
  });
  it("white noise has one level", () => {
    const random = seededRandom(3);
    for (let i = 0; i < 100; i++)
      expect(twoLevels(Float64Array.from({ length: 2000 }, () => random.normal()))).toBeNull();
  });
});

describe("a neighbour with a tone of its own", () => {
  it("shows what leaks into it all the same", () => {
    const { record } = simulated(spec(sine(997)), ["crosstalk=-50", "noise=0.5"], { readings: READINGS });
    const [own, beside] = record.log.channels;
    const codes = Int32Array.from(beside!.codes, (y, n) => Math.round(y + 400 * Math.cos(0.71 * n)));
    const driven = { ...record, log: { ...record.log, channels: [own!, { ...beside!, codes }] } };
    const { fit } = matchRecord(record);
    const [tone] = neighbourTones(driven, fit!);
    expect(tone?.isSignificant).toBe(true);
    // −50 dB of 1966 LSB are 6.2 LSB; noise of 0.65 LSB leaves √(2/8192)·0.65 = 0.01 LSB on it: a tenth of a decibel is five times that.
    expect(Math.abs(20 * Math.log10(tone!.ratio) + 50)).toBeLessThan(0.1);
  });
});

describe("takeHarmonicsOff", () => {
  it("leaves a part of a cycle as it is: its orders would grow without end and cancel each other", () => {
    const random = seededRandom(3);
    const values = Float64Array.from({ length: 4000 }, () => random.normal());
    const before = values.slice();
    expect(takeHarmonicsOff(values, 0.48 / 4000)).toBe(0);
    expect(values).toEqual(before);
  });
  it("leaves what is no harmonic", () => {
    const values = Float64Array.from(
      { length: 4000 },
      (_, n) =>
        3 * Math.cos(2 * 0.0537 * 2 * Math.PI * n + 1) + 2 * Math.sin(3 * 0.0537 * 2 * Math.PI * n) + Math.cos(0.4 * n),
    );
    expect(takeHarmonicsOff(values, 0.0537)).toBe(10);
    // Lines of 3 and 2 are gone to a hundredth; what the ten orders take of the other line is 20 of 4000 values' worth.
    for (let n = 0; n < values.length; n++) expect(Math.abs(values[n]! - Math.cos(0.4 * n))).toBeLessThan(0.05);
  });
});

describe("a neighbour with a triangle of its own", () => {
  it("shows its harmonics, and its few cycles everywhere, and no crosstalk; a leak beside them is told", () => {
    // By construction: nothing of the tone is on the neighbour, or 1 % of it.
    const { record } = simulated(spec(sine(997)), ["crosstalk=-200", "noise=0.5"], { readings: 2000 });
    const [own, beside] = record.log.channels;
    const { fit } = matchRecord(record);
    const tone = fit!.cyclesPerReading;
    const told = (cycles: number, leak: number): boolean => {
      const codes = Int32Array.from(beside!.codes, (y, n) => {
        const turn = (cycles * n + 0.3) % 1;
        const triangle = 1800 * (turn < 0.5 ? 4 * turn - 1 : 3 - 4 * turn);
        return Math.round(2048 + triangle + (y % 2) + leak * Math.cos(2 * Math.PI * tone * n));
      });
      const driven = { ...record, log: { ...record.log, channels: [own!, { ...beside!, codes }] } };
      return neighbourTones(driven, fit!)[0]?.isSignificant ?? false;
    };
    // Third and ninth harmonic half a cell away; less than a cycle; two cycles, of which nothing falls on the tone.
    for (const cycles of [(tone + 0.5 / 2000) / 3, (tone + 0.5 / 2000) / 9, 0.61 / 2000, 2.3 / 2000])
      expect(told(cycles, 0), `${cycles}`).toBe(false);
    for (const cycles of [0.61 / 2000, 2.3 / 2000]) expect(told(cycles, 20), `${cycles}`).toBe(true);
  });
});

// Code widths that scatter by 0.2 LSB add up to a smooth curve of ±6 LSB at 10 and 12 bits, which bends the peaks as a soft clipping would. Before the orders above the seventh were
// held against it, one such converter in nine was told to clip.
it("a converter whose code widths scatter does not clip softly (simulated, transitions known)", () => {
  let told = 0;
  for (let seed = 1; seed <= 40; seed++) {
    const random = seededRandom(seed * 77 + 10);
    const scale = scaleOf({ bits: 10, low: 0, high: 2.5, firstTransition: 0.5 });
    const T = simulatedTransitions(scale, { dnlSigma: 0.2, seed });
    const cycles = 0.01 + 0.48 * random.uniform();
    const phase = 2 * Math.PI * random.uniform();
    const amplitude = 1.1 + 0.12 * random.uniform();
    const bench = { ...spec(sine(cycles * 50_000, amplitude)), converter: converter({ bits: 10 }) };
    const { record } = simulated(bench, [], { readings: 1000, seed });
    const codes = Int32Array.from({ length: 1000 }, (_, n) =>
      convert(T, 1.25 + amplitude * Math.cos(2 * Math.PI * cycles * n + phase) + 0.3 * scale.lsb * random.normal()),
    );
    if (matchRecord({ ...record, codes }).findings.some((f) => f.id === "clipped")) told++;
  }
  expect(told).toBe(0);
});

describe("what only looks like a fault of a tone", () => {
  // Closed form, 10 bits; noise made here.
  const toned = (cycles: number, readings: number, amplitude: number, noise: number, seed: number) => {
    const random = seededRandom(seed);
    const volts = (amplitude * 2.5) / 1024;
    const device = converter({ bits: 10 });
    const stimulus = sine((cycles * 50_000) / readings, volts, 1.25);
    const { record } = simulated(spec(stimulus, { converter: device }), [], { readings, seed });
    const codes = Int32Array.from({ length: readings }, (_, n) =>
      Math.max(
        0,
        Math.min(
          1023,
          Math.round(
            512 + amplitude * Math.cos((2 * Math.PI * cycles * n) / readings + seed) + noise * random.normal(),
          ),
        ),
      ),
    );
    return matchRecord({ ...record, codes })
      .findings.filter((f) => f.severity !== "note")
      .map((f) => f.id);
  };
  it("phases in five clusters pile up without any flattening", () => {
    for (let seed = 0; seed < 8; seed++) expect(toned(52.4052, 262, 450, 1.7, seed)).not.toContain("clipped");
  });
  it("a quiet tone near half the rate that goes from rail to rail repeats no readings", () => {
    for (let seed = 0; seed < 4; seed++)
      expect(toned(9420.9543, 18_851, 530, 0.08, seed)).not.toContain("readings-repeated");
  });
});
