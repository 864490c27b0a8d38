import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { staticTruth } from "../../lib/simulate/staticTruth.ts";

const scale = scaleOf({ bits: 8, low: 0, high: 2.56, firstTransition: 0.5 });

describe("staticTruth", () => {
  it("an ideal converter has no errors on either line", () => {
    for (const line of ["endpoint", "best-fit"] as const) {
      const truth = staticTruth(simulatedTransitions(scale), scale, line);
      for (const name of [
        "offsetError",
        "offsetAtLow",
        "gainError",
        "dnlMax",
        "inlMax",
        "totalUnadjustedError",
      ] as const)
        expect(Math.abs(truth[name]), name).toBeLessThan(1e-9);
      expect(truth.missingCodes).toBe(0);
    }
  });
  it("offset and gain come back as they were put in: positive when the converter reads high", () => {
    const truth = staticTruth(simulatedTransitions(scale, { offset: 2, gainPercent: 0.5 }), scale, "endpoint");
    // The model is G·T + Vos = ideal: exact.
    expect(truth.offsetError).toBeCloseTo(2, 9);
    expect(truth.gainError).toBeCloseTo(0.5, 9);
    // Ideal T[1] is half an LSB: (0.5 − (0.5 − 2)/1.005).
    expect(truth.offsetAtLow).toBeCloseTo(0.5 + 1.5 / 1.005, 9);
  });
  it("a bow of 1.5 LSB is the largest INL of the end-point line, at mid-scale", () => {
    const truth = staticTruth(simulatedTransitions(scale, { bow: 1.5 }), scale, "endpoint");
    expect(truth.inlMax).toBeCloseTo(1.5, 9);
    expect(truth.inl[128]).toBe(truth.inlMax);
    expect(truth.inlMin).toBeCloseTo(0, 9);
  });
  it("counts a code without width as missing, its neighbour as twice as wide", () => {
    const truth = staticTruth(simulatedTransitions(scale, { missing: [100] }), scale, "endpoint");
    expect(truth.missingCodes).toBe(1);
    expect(truth.dnl[100]).toBeCloseTo(-1, 9);
    expect(truth.dnlMax).toBeCloseTo(1, 9);
  });
  it("leaves out what was not exercised", () => {
    const truth = staticTruth(simulatedTransitions(scale, { bow: 1 }), scale, "endpoint", 5, 250);
    expect(truth.inl[4]).toBeNaN();
    expect(truth.inl[5]).toBeCloseTo(0, 9);
    expect(truth.dnl[250]).toBeNaN();
  });
  it("needs three transitions", () =>
    expect(() => staticTruth(simulatedTransitions(scale), scale, "endpoint", 5, 6)).toThrow(/at least three/));
});
