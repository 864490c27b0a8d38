import { expect, it } from "vitest";
import { median } from "../../lib/signal/median.ts";

it("median skips what is not finite and leaves its argument alone", () => {
  const values = [3, Number.NaN, 1, Number.POSITIVE_INFINITY, 2, 10];
  expect(median(values)).toBe(2.5);
  expect(values[0]).toBe(3);
  expect(median([])).toBeNaN();
});
