import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { FAULTS, readFault } from "../../lib/simulate/faults.ts";
import { simulateCapture } from "../../lib/simulate/simulateCapture.ts";
import { converter, ramp, simulated, sine, spec, steady } from "../match/simulatedRecord.ts";

const fault = (text: string) => {
  const read = readFault(text);
  if (typeof read === "string") throw new Error(read);
  return read;
};

describe("simulateCapture", () => {
  it("the same seed gives the same words, another seed others", () => {
    const words = (seed: number) => simulateCapture(spec(sine(997)), { readings: 200, seed }).words;
    expect(words(4)).toEqual(words(4));
    expect(words(4)).not.toEqual(words(5));
  });

  it("a noiseless code is the number of transitions at or below the input", () => {
    const { codes, truth } = simulateCapture(spec(ramp(0.1, 2.4)), {
      readings: 500,
      faults: [fault("noise=0"), fault("bow=2")],
    });
    for (let n = 0; n < codes.length; n++) {
      const volts = 0.1 + (2.3 * n) / 499;
      let count = 0;
      for (let k = 1; k < truth.transitions.length; k++) if (truth.transitions[k]! <= volts + 1e-12) count++;
      // The waveform is formed from time, so that a rounding may move an input that lies on a transition.
      expect(Math.abs(codes[n]! - count)).toBeLessThanOrEqual(
        Math.abs(volts - (truth.transitions[count] ?? 0)) < 1e-9 ? 1 : 0,
      );
    }
  });

  it("noise has the standard deviation that was asked for", () => {
    const { codes } = simulateCapture(spec(steady(1.25)), { readings: 20_000, faults: [fault("noise=3")] });
    const mean = codes.reduce((a, b) => a + b, 0) / codes.length;
    const sd = Math.sqrt(codes.reduce((a, b) => a + (b - mean) ** 2, 0) / codes.length);
    // √(9 + 1/12) of noise and quantiser; the standard deviation of 20 000 readings scatters by 0.5 %: five of these.
    expect(Math.abs(sd / Math.sqrt(9 + 1 / 12) - 1)).toBeLessThan(0.025);
  });

  it("lost readings leave a gap in numbers and times, and codes that go on after it", () => {
    const whole = simulateCapture(spec(sine(997)), { readings: 1000, seed: 3, faults: [fault("noise=0")] });
    const lossy = simulateCapture(spec(sine(997)), {
      readings: 990,
      seed: 3,
      faults: [fault("noise=0"), fault("lost=10@400")],
    });
    expect(lossy.sequence[400]! - lossy.sequence[399]!).toBe(11);
    expect(lossy.seconds[400]! - lossy.seconds[399]!).toBeCloseTo(11 / 50_000, 12);
    expect([...lossy.codes.slice(0, 400)]).toEqual([...whole.codes.slice(0, 400)]);
    expect([...lossy.codes.slice(400)]).toEqual([...whole.codes.slice(410)]);
  });

  it("a repeated block comes twice in a row", () => {
    const { codes, truth } = simulateCapture(spec(sine(997)), {
      readings: 500,
      faults: [fault("repeated-block=20@100")],
    });
    expect([...codes.slice(100, 120)]).toEqual([...codes.slice(80, 100)]);
    expect(truth.planted[0]?.where).toEqual([[100, 119]]);
  });

  it("writes words as the converter's coding and alignment want them", () => {
    const device = converter({ coding: "twos-complement", align: "left" });
    const { codes, words } = simulateCapture(spec(sine(997), { converter: device }), { readings: 300 });
    expect([...words]).toEqual([...codes].map((c) => (c - 2048) * 16));
    expect([...simulated(spec(sine(997), { converter: device }), [], { readings: 300 }).record.codes]).toEqual([
      ...codes,
    ]);
  });

  it("a slow level approaches with its time constant", () => {
    const levels = [
      { voltage: 0.5, readings: 10 },
      { voltage: 1.5, readings: 20 },
    ];
    const steps = spec({
      kind: "steps",
      column: null,
      levels,
      direction: "up",
      accuracy: { gain: 0, offset: 0, linearity: 0, repeatability: 0 },
    });
    const { codes } = simulateCapture(steps, { faults: [fault("settling=4"), fault("noise=0")] });
    for (let j = 0; j < 6; j++) {
      const volts = 1.5 - Math.exp(-(j + 1) / 4);
      expect(Math.abs(codes[10 + j]! - volts / (2.5 / 4096))).toBeLessThanOrEqual(1);
    }
  });

  it("every fault of the catalogue can be planted on a capture that it suits, and keeps the record's length", () => {
    for (const name of Object.keys(FAULTS)) {
      const { words, truth } = simulateCapture(spec(sine(997)), { readings: 600, faults: [fault(name)] });
      expect(words.length).toBe(600);
      expect(truth.planted.length).toBe(1);
      for (const word of words) expect(Number.isInteger(word)).toBe(true);
    }
  });
});

describe("readFault", () => {
  it("reads name, size, second number and place", () => {
    expect(readFault("hum=4:60@12")).toEqual({ name: "hum", size: 4, second: 60, at: 12 });
    expect(readFault("byte-swapped")).toEqual({ name: "byte-swapped", size: 1, second: null, at: null });
    expect(readFault("lost")).toMatchObject({ size: FAULTS.lost.usual });
  });
  it("says what is wrong, whatever it is given", () => {
    expect(readFault("gremlins=3")).toContain("gremlins=3");
    expect(readFault("constructor")).toContain("is not a fault");
    fc.assert(
      fc.property(fc.string(), (text) => {
        const read = readFault(text);
        return typeof read === "string" || Number.isFinite(read.size);
      }),
    );
  });
});
