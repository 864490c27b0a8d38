import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { autocorrelation, describeValues } from "../../lib/signal/descriptive.ts";
import { fitLine } from "../../lib/signal/linearFit.ts";
import { symmetricSolve } from "../../lib/signal/symmetricSolve.ts";

describe("fitLine", () => {
  it("gives back a line that points lie on, however far from zero", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -100, max: 100, noNaN: true }),
        fc.double({ min: -1e3, max: 1e3, noNaN: true }),
        fc.integer({ min: -1000000, max: 1000000 }),
        fc.integer({ min: 2, max: 50 }),
        (slope, intercept, origin, n) => {
          const x = Array.from({ length: n }, (_, i) => origin + i);
          const fit = fitLine(
            x,
            x.map((v) => intercept + slope * v),
          );
          // Readings of size 1e8 are rounded at 1e-8; a slope over n points inherits that.
          const rounding = 1e-15 * (Math.abs(slope * origin) + Math.abs(intercept) + 1);
          expect(Math.abs(fit.slope - slope)).toBeLessThan(10 * rounding + 1e-12);
          expect(Math.abs(fit.meanY - (intercept + slope * fit.meanX))).toBeLessThan(10 * rounding + 1e-11);
        },
      ),
      { seed: 2 },
    );
  });
  it("two points leave nothing to judge by", () => {
    const fit = fitLine([1, 2], [3, 5]);
    expect(fit.slope).toBe(2);
    expect(fit.slopeSd).toBeNull();
    expect(fit.residualSd).toBeNull();
  });
  it("refuses unequal lengths, one point, and x that does not change", () => {
    expect(() => fitLine([1, 2], [1])).toThrow(RangeError);
    expect(() => fitLine([1], [1])).toThrow(RangeError);
    expect(() => fitLine([4, 4, 4], [1, 2, 3])).toThrow(RangeError);
  });
});

describe("describeValues, autocorrelation", () => {
  it("a single value has no spread; none is refused", () => {
    expect(describeValues([7])).toEqual({ count: 1, mean: 7, sd: 0, min: 7, max: 7 });
    expect(() => describeValues([])).toThrow(RangeError);
  });
  it("looks only at the stretch asked for", () => {
    expect(describeValues([100, 1, 2, 3, 100], 1, 3)).toEqual({ count: 3, mean: 2, sd: 1, min: 1, max: 3 });
  });
  it("equal values do not vary together", () => {
    expect(autocorrelation([5, 5, 5])).toBe(0);
    expect(() => autocorrelation([1, 2], 2)).toThrow(RangeError);
  });
});

describe("symmetricSolve", () => {
  it("solves a system whose columns differ by twelve decades", () => {
    // [[4, 2e-6], [2e-6, 3e-12]]·[1, 2e6] = [8, 8e-6].
    const solved = symmetricSolve(new Float64Array([4, 2e-6, 2e-6, 3e-12]), new Float64Array([8, 8e-6]))!;
    expect(solved.x[0]).toBeCloseTo(1, 10);
    expect(solved.x[1]! / 2e6).toBeCloseTo(1, 10);
  });
  it("has no answer for columns that are the same, or nothing", () => {
    expect(symmetricSolve(new Float64Array([1, 1, 1, 1]), new Float64Array([1, 1]))).toBeNull();
    expect(symmetricSolve(new Float64Array([0]), new Float64Array([1]))).toBeNull();
  });
});
