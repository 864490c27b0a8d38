import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convertAll, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { codeMoments, levelTruth } from "../../lib/simulate/levelTruth.ts";

const scale = scaleOf({ bits: 8, low: -1, high: 1, firstTransition: 0.5 });

describe("codeMoments", () => {
  it("agrees with a long simulation", () => {
    const T = simulatedTransitions(scale, { dnlSigma: 0.3, seed: 4 });
    for (const [volts, sigma] of [
      [0.1234, 0.4],
      [-0.5, 2],
      [0.99, 1],
    ] as const) {
      const readings = 200_000;
      const codes = convertAll(T, () => volts, readings, sigma * scale.lsb, seededRandom(2));
      const mean = codes.reduce((s, c) => s + c, 0) / readings;
      const sd = Math.sqrt(codes.reduce((s, c) => s + (c - mean) ** 2, 0) / readings);
      const exact = codeMoments(T, volts, sigma * scale.lsb);
      // Four standard deviations of the mean, and of a standard deviation, of 200 000 readings.
      expect(Math.abs(mean - exact.mean)).toBeLessThan((4 * exact.sd) / Math.sqrt(readings));
      expect(Math.abs(sd - exact.sd)).toBeLessThan((4 * exact.sd) / Math.sqrt(2 * readings));
    }
  });
  it("without noise is the code itself", () => {
    const T = simulatedTransitions(scale);
    expect(codeMoments(T, 0.3, 0)).toEqual({ mean: 166, sd: 0 });
    expect(codeMoments(T, -5, 0)).toEqual({ mean: 0, sd: 0 });
    expect(codeMoments(T, 5, 0)).toEqual({ mean: 255, sd: 0 });
  });
});

describe("levelTruth", () => {
  it("of an ideal converter with noise enough is nought", () => {
    const T = simulatedTransitions(scale);
    const truth = levelTruth(T, scale, [-0.9, -0.3, 0.2, 0.9], 1.2 * scale.lsb, "best-fit");
    for (const x of [truth.offsetError, truth.gainError, truth.inlMax, truth.inlMin, truth.totalUnadjustedError])
      expect(Math.abs(x)).toBeLessThan(1e-9);
  });
  it("of a converter with offset and gain error is those", () => {
    const T = simulatedTransitions(scale, { offset: 1.5, gainPercent: 0.4 });
    const truth = levelTruth(T, scale, [-0.8, 0, 0.7], 1.2 * scale.lsb, "endpoint");
    expect(truth.offsetError).toBeCloseTo(1.5, 6);
    expect(truth.gainError).toBeCloseTo(0.4, 6);
  });
  it("leaves out levels at the rails, and refuses a single one", () => {
    const T = simulatedTransitions(scale);
    const truth = levelTruth(T, scale, [-1, -0.5, 0.5, 1], scale.lsb, "endpoint");
    expect(truth.inl.map(Number.isNaN)).toEqual([true, false, false, true]);
    expect(() => levelTruth(T, scale, [-1, 0], scale.lsb, "endpoint")).toThrow(/at least 2 levels/);
  });
});
