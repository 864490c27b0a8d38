import fc from "fast-check";
import { median as medianOfLibrary } from "simple-statistics";
import { expect, it } from "vitest";
import { median } from "../../lib/signal/median.ts";

it("median skips what is not finite and leaves its argument alone", () => {
  const values = [3, Number.NaN, 1, Number.POSITIVE_INFINITY, 2, 10];
  expect(median(values)).toBe(2.5);
  expect(values[0]).toBe(3);
  expect(median([])).toBeNaN();
});

it("median is the reference library's (simple-statistics 7)", () =>
  fc.assert(
    fc.property(fc.array(fc.double({ noNaN: true, min: -1e6, max: 1e6 }), { minLength: 1 }), (values) => {
      // The mean of the middle two is rounded in another order.
      expect(median(values)).toBeCloseTo(medianOfLibrary(values), 9);
    }),
  ));
