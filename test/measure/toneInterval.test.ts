import { describe, expect, it } from "vitest";
import { decibels, lineFactors, powerFactors } from "../../lib/measure/toneInterval.ts";
import { fQuantile } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";

/** Confidence factors of a standard deviation at 95 %. Source: Boost.Math documentation, table of s·√((n−1)/χ²), 4 decimals; CHECKS §15. */
describe("powerFactors against the published factors of a standard deviation", () => {
  for (const [n, low, high] of [
    [5, 0.59913, 2.87356],
    [10, 0.68784, 1.82561],
    [30, 0.79641, 1.34432],
    [100, 0.87801, 1.16168],
    [1000, 0.95801, 1.04587],
    [10000, 0.9863, 1.0141],
  ] as const) {
    it(`n = ${n}`, () => {
      // A mean of n − 1 squares of normal deviates has a relative variance of 2/(n − 1).
      const [less, more] = powerFactors(2 / (n - 1));
      // Half a unit of the table's last place.
      expect(Math.abs(Math.sqrt(less) - low)).toBeLessThan(6e-5);
      expect(Math.abs(Math.sqrt(more) - high)).toBeLessThan(6e-5);
    });
  }
  it("no variance, no interval", () => {
    expect(powerFactors(0)).toEqual([1, 1]);
  });
});

describe("lineFactors", () => {
  it("holds the power of lines in noise, from far below it to far above", () => {
    const random = seededRandom(12);
    for (const k of [2, 18]) {
      for (const lambda of [0, 1, 4, 12, 40, 400]) {
        let held = 0;
        const runs = 2000;
        for (let run = 0; run < runs; run++) {
          let seen = 0;
          for (let i = 0; i < k; i++) seen += (random.normal() + (i === 0 ? Math.sqrt(lambda) : 0)) ** 2;
          const [low, high] = lineFactors(seen, k, 1e6);
          if (low <= lambda && lambda <= high) held++;
        }
        // 2000 runs: 0.95 ± 0.015 at three standard deviations; near the noise only the upper end can fail, so that 0.975 is reached.
        expect(held / runs, `k ${k}, λ ${lambda}`).toBeGreaterThan(0.935);
        expect(held / runs, `k ${k}, λ ${lambda}`).toBeLessThan(lambda <= 12 ? 1 : 0.965);
      }
    }
  });
  it("has no lower end where noise alone explains what is seen, and always an upper one", () => {
    // χ² with 2 degrees of freedom exceeds 7.378 with a chance of 2.5 % (−2·ln 0.025, closed form).
    expect(lineFactors(7.2, 2, 1e6)[0]).toBe(0);
    expect(lineFactors(7.6, 2, 1e6)[0]).toBeGreaterThan(0);
    expect(lineFactors(0.001, 2, 1e6)[1]).toBeGreaterThan(2);
  });
  it("rests on Fisher's F where the noise is known from few readings", () => {
    // Noise alone explains a mean square up to F's 97.5 % point; the quantile itself is checked against scipy in test/external/distributions.test.ts. 5 % for the approximation.
    const limit = fQuantile(0.975, 18, 38);
    expect(lineFactors(18 * 0.95 * limit, 18, 38)[0]).toBe(0);
    expect(lineFactors(18 * 1.05 * limit, 18, 38)[0]).toBeGreaterThan(0);
  });
  it("widens when the noise is known from few readings", () => {
    const [low, high] = lineFactors(100, 2, 1e6);
    const [lower, higher] = lineFactors(100, 2, 5);
    expect(lower).toBeLessThan(low);
    expect(higher).toBeGreaterThan(high);
  });
  it("decibels of a power ratio", () => {
    expect(decibels(100)).toBe(20);
  });
});
