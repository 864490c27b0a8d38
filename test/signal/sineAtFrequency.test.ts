import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { seededRandom } from "../../lib/signal/random.ts";
import { sineAtFrequency } from "../../lib/signal/sineAtFrequency.ts";

describe("sineAtFrequency", () => {
  it("finds offset and both parts of any sine exactly (closed form: the sine it was made of)", () => {
    const part = fc.double({ min: -1000, max: 1000, noNaN: true });
    fc.assert(
      fc.property(
        fc.double({ min: 0.02, max: 0.48, noNaN: true }),
        part,
        part,
        part,
        fc.integer({ min: 60, max: 400 }),
        (cycles, offset, a, b, count) => {
          const values = Float64Array.from(
            { length: count },
            (_, n) => offset + a * Math.cos(2 * Math.PI * cycles * n + 1) + b * Math.sin(2 * Math.PI * cycles * n + 1),
          );
          const found = sineAtFrequency(values, 0, count - 1, cycles, 1, 0, null)!;
          const close = (x: number, y: number): void => expect(Math.abs(x - y)).toBeLessThan(1e-7);
          close(found.offset, offset);
          close(found.a, a);
          close(found.b, b);
        },
      ),
      { numRuns: 200 },
    );
  });
  it("leaves the sum of squares of the noise, less three parameters' share (chi-square: M − 3 ± √(2M), here within 4 of them)", () => {
    const random = seededRandom(4);
    const values = Float64Array.from({ length: 4000 }, (_, n) => 100 * Math.cos(0.3 * n) + random.normal());
    const { left, total, readings } = sineAtFrequency(values, 0, 3999, 0.3 / (2 * Math.PI), 0, 0, null)!;
    expect(readings).toBe(4000);
    expect(Math.abs(left - 3997)).toBeLessThan(4 * Math.sqrt(2 * 4000));
    // Half the square of the amplitude a reading.
    expect(total / 4000 / 5000).toBeCloseTo(1, 2);
  });
  it("a left-out reading may hold anything", () => {
    const values = Float64Array.from({ length: 100 }, (_, n) => 7 + 3 * Math.sin(0.5 * n));
    values[40] = 1e9;
    const found = sineAtFrequency(values, 0, 99, 0.5 / (2 * Math.PI), 0, 0, { floor: -1e6, ceiling: 1e6 })!;
    expect(found.offset).toBeCloseTo(7, 9);
    expect(found.b).toBeCloseTo(3, 9);
    expect(found.readings).toBe(99);
  });
  it("says so where level, cosine and sine are one: three readings of no cycle", () => {
    expect(sineAtFrequency([1, 2, 3], 0, 2, 0, 0, 0, null)).toBeNull();
    expect(sineAtFrequency([], 0, -1, 0.1, 0, 0, null)).toBeNull();
  });
});
