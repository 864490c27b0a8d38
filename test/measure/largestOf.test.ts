import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { largestOf } from "../../lib/measure/largestOf.ts";
import { binomialCdf } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";

describe("largestOf", () => {
  it("a plain winner keeps its own interval", () => {
    expect(largestOf([1, 5, 2], [0.3, 0.2, 0.4])).toEqual({ value: 5, low: 4.8, high: 5.2, index: 1, contenders: 1 });
  });
  it("equal figures are taken back by what the best of them gained by chance", () => {
    const { low, contenders } = largestOf([1, 1, 1, 1], [1.96, 1.96, 1.96, 1.96]);
    expect(contenders).toBe(4);
    // Φ⁻¹(1 − 0.025/4) = 2.4977.
    expect(low).toBeCloseTo(1 - 2.4977, 3);
  });
  it("holds the largest of many equal figures, and the one that stands out", () => {
    const random = seededRandom(9);
    const trials = 1000;
    for (const standing of [0, 1, 5]) {
      let held = 0;
      for (let i = 0; i < trials; i++) {
        const truth = Float64Array.from({ length: 20 }, (_, k) => (k === 7 ? standing : 0));
        const { low, high } = largestOf(
          truth.map((t) => t + random.normal()),
          new Float64Array(20).fill(1.959964),
        );
        if (low <= standing && standing <= high) held++;
      }
      // A true coverage of 95 % falls below once in a thousand.
      expect(binomialCdf(held, trials, 0.95), `${standing}: ${held}`).toBeGreaterThan(0.001);
    }
  });
  it("value lies within its interval, whatever the figures", () => {
    const figure = fc.double({ min: -1e6, max: 1e6, noNaN: true });
    const width = fc.double({ min: 0, max: 1e3, noNaN: true });
    fc.assert(
      fc.property(fc.array(fc.tuple(figure, width), { minLength: 1, maxLength: 30 }), (pairs) => {
        const { value, low, high } = largestOf(
          pairs.map((p) => p[0]),
          pairs.map((p) => p[1]),
        );
        expect(low).toBeLessThanOrEqual(high);
        expect(value).toBeLessThanOrEqual(high);
        expect(value).toBe(Math.max(...pairs.map((p) => p[0])));
      }),
    );
    expect(() => largestOf([], [])).toThrow(/at least one/);
  });
});
