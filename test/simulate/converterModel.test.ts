import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { idealTransition, scaleOf } from "../../lib/bench/scale.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";

const scale = scaleOf({ bits: 8, low: 0, high: 2.56, firstTransition: 0.5 });

describe("simulatedTransitions", () => {
  it("is ideal without faults", () => {
    const T = simulatedTransitions(scale);
    for (let k = 1; k <= 255; k++) expect(T[k]).toBeCloseTo(idealTransition(scale, k), 12);
  });

  it("obeys G·T + Vos = ideal for planted gain and offset, both positive where the converter reads high", () => {
    const T = simulatedTransitions(scale, { offset: 2, gainPercent: 1 });
    for (const k of [1, 100, 255]) expect(1.01 * T[k]! + 0.02).toBeCloseTo(idealTransition(scale, k), 12);
    // Reads high: the code at mid-range is larger than the ideal converter's.
    expect(convert(T, 1.28)).toBeGreaterThan(convert(simulatedTransitions(scale), 1.28));
  });

  it("gives a missing code no width", () => {
    const T = simulatedTransitions(scale, { missing: [77] });
    expect(T[78]).toBe(T[77]);
    const seen = new Set(Array.from({ length: 25_600 }, (_, i) => convert(T, i * 1e-4)));
    expect(seen.has(77)).toBe(false);
    expect(seen.has(76) && seen.has(78)).toBe(true);
  });
});

describe("convert", () => {
  it("agrees with a count of the transitions at or below the input", () => {
    const T = simulatedTransitions(scale, { dnlSigma: 0.4, bow: 2, seed: 9 });
    fc.assert(
      fc.property(fc.double({ min: -1, max: 4, noNaN: true }), (volts) => {
        let count = 0;
        for (let k = 1; k < T.length; k++) if (T[k]! <= volts) count++;
        expect(convert(T, volts)).toBe(count);
      }),
    );
  });
});
