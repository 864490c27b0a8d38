import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { coverageOf, halfWidth, Z95 } from "../../lib/signal/coverage.ts";
import { seededRandom } from "../../lib/signal/random.ts";

describe("halfWidth", () => {
  it("is 1.96 u without rectangles and 0.95 a with one alone", () => {
    expect(halfWidth(2, [])).toBeCloseTo(2 * 1.959963985, 8);
    expect(halfWidth(0, [3])).toBeCloseTo(2.85, 12);
    expect(halfWidth(0, [])).toBe(0);
    expect(halfWidth(0, [0, 0])).toBe(0);
  });
  it("of two equal rectangles is that of a triangle: 2 − √0.2", () => {
    // The same with a = b. Tolerance: the series' own, 1e-5.
    expect(halfWidth(0, [1, 1])).toBeCloseTo(2 - Math.sqrt(0.2), 5);
  });
  it("of two unequal rectangles is that of a trapezium", () => {
    // Beyond U, in the slanting flank, lies (a + b − U)²/(8ab) on each side: 0.025 of it.
    expect(halfWidth(0, [1, 0.3])).toBeCloseTo(1.3 - Math.sqrt(0.2 * 0.3), 5);
  });
  it("covers 95 % of draws for normal parts, rectangles and mixtures", () => {
    const random = seededRandom(7);
    const cases: [number, number[]][] = [
      [1, [1]],
      [0.1, [1, 0.5, 0.2]],
      [0.3, [1, 1, 1, 1]],
      [1, [0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 0.4]],
    ];
    const draws = 100_000;
    for (const [u, limits] of cases) {
      const half = halfWidth(u, limits);
      let inside = 0;
      for (let i = 0; i < draws; i++) {
        let x = u * random.normal();
        for (const a of limits) x += a * (2 * random.uniform() - 1);
        if (Math.abs(x) <= half) inside++;
      }
      // Four standard deviations of a share of 0.95 in 100 000 draws.
      expect(Math.abs(inside / draws - 0.95), `${u} ${limits}`).toBeLessThan(4 * Math.sqrt((0.95 * 0.05) / draws));
    }
  });
  it("never shrinks when a part grows, and lies between the largest part and their sum", () => {
    const part = fc.double({ min: 0, max: 10, noNaN: true });
    fc.assert(
      fc.property(part, fc.array(part, { maxLength: 4 }), part, (u, limits, more) => {
        const base = halfWidth(u, limits);
        expect(halfWidth(u, [...limits, more])).toBeGreaterThanOrEqual(base * (1 - 1e-4) - 1e-9);
        expect(base).toBeLessThanOrEqual(Z95 * u + limits.reduce((s, a) => s + a, 0) + 1e-9);
        expect(base).toBeGreaterThanOrEqual(Math.max(Z95 * u, ...limits.map((a) => 0.95 * a), 0) * (1 - 1e-4) - 1e-9);
      }),
      { numRuns: 60 },
    );
  });
  it("scales with its parts, microvolts as well as volts", () => {
    expect(halfWidth(1e-6, [2e-6, 3e-6])).toBeCloseTo(1e-6 * halfWidth(1, [2, 3]), 15);
  });
  it("refuses what is not a width", () => {
    expect(() => halfWidth(-1, [])).toThrow(RangeError);
    expect(() => halfWidth(1, [Number.NaN])).toThrow(/limits/);
    expect(() => halfWidth(Number.POSITIVE_INFINITY, [])).toThrow(/standard/);
  });
});

describe("coverageOf", () => {
  it("is the closed form of METHODS 3 for one rectangle and agrees with the series for two, one of them tiny", () => {
    const one = coverageOf(1.5, 0.4, [1]);
    expect(one).toBeCloseTo(coverageOf(1.5, 0.4, [1, 1e-4]), 5);
    expect(coverageOf(0.5, 0, [1])).toBe(0.5);
    expect(coverageOf(0, 1, [])).toBeCloseTo(0, 12);
  });
});
