import { expect, it } from "vitest";
import { codeInterval, extremes } from "../../reports/figures/codeCurve.ts";
import { untested } from "../../reports/figures/untested.ts";

const { NaN: none } = Number;

it("extremes are the first of the largest and of the smallest values tested", () => {
  expect(extremes(Float64Array.of(none, 1, -3, 5, -3, 5, none))).toEqual({ max: 3, min: 2, known: 5 });
  expect(extremes(Float64Array.of(none, Number.POSITIVE_INFINITY))).toBeNull();
});

it("an interval's columns reach from the smallest lower end to the largest upper one", () => {
  const interval = codeInterval(1, Float64Array.of(1, none, 2), Float64Array.of(0.5, 0.5, 1));
  expect(interval).toMatchObject({ x: { from: 1, step: 1, count: 3 } });
  expect(interval).toMatchObject({
    low: Float64Array.of(1 - 0.98, none, 2 - 1.96),
    high: Float64Array.of(1.98, none, 3.96),
  });
});

it("untested stretches are told by the codes that they span, those at the ends too", () => {
  const from = (list: { from: number; to: number }[]): number[][] => list.map((r) => [r.from, r.to]);
  expect(from(untested(Float64Array.of(none, 1, none, none, 2), 1, 9))).toEqual([
    [1, 1],
    [3, 4],
    [6, 9],
  ]);
  expect(from(untested(Float64Array.of(1, none), 1, 2))).toEqual([[2, 2]]);
});
