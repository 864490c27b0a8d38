import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { codeHistogram, countsBelow } from "../../lib/signal/codeHistogram.ts";

describe("codeHistogram", () => {
  it("counts each code, and codes outside the range beside", () => {
    const histogram = codeHistogram([0, 1, 1, 3, -2, 4, 7], 3);
    expect([...histogram.counts]).toEqual([1, 2, 0, 1]);
    expect(histogram).toMatchObject({ below: 1, above: 2, total: 7 });
  });
  it("counts only the stretches asked for", () => {
    const histogram = codeHistogram([3, 0, 0, 3, 1], 3, [
      [1, 2],
      [4, 4],
    ]);
    expect([...histogram.counts]).toEqual([2, 1, 0, 0]);
    expect(histogram.total).toBe(3);
  });
  it("is empty for no readings", () => expect(codeHistogram([], 3)).toMatchObject({ below: 0, above: 0, total: 0 }));
  it("refuses a top code below 1", () => expect(() => codeHistogram([0], 0)).toThrow(RangeError));
});

describe("countsBelow", () => {
  it("agrees with a plain count of readings under each code", () =>
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -3, max: 12 })), (codes) => {
        const below = countsBelow(codeHistogram(codes, 7));
        for (let k = 0; k <= 8; k++) expect(below[k]).toBe(codes.filter((c) => (k === 8 ? c <= 7 : c < k)).length);
      }),
    ));
});
