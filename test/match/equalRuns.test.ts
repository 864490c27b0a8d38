import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { equalRuns } from "../../lib/match/equalRuns.ts";
import { MOST_AT_ONCE } from "../../lib/signal/readingsOf.ts";

/** All runs, one reading after the other. */
function byHand(codes: Int32Array, least: number): number[][] {
  const runs: number[][] = [];
  for (let first = 0; first < codes.length; ) {
    let end = first + 1;
    while (end < codes.length && codes[end] === codes[first]) end++;
    if (end - first >= least) runs.push([first, end]);
    first = end;
  }
  return runs;
}

describe("equalRuns", () => {
  it("are those of a search reading by reading", () =>
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 0, max: 3 }), fc.integer({ min: 1, max: 9 })), { maxLength: 60 }),
        fc.integer({ min: 2, max: 12 }),
        (parts, least) => {
          const codes = Int32Array.from(parts.flatMap(([code, times]) => Array<number>(times).fill(code)));
          expect([...equalRuns(codes, least)]).toEqual(byHand(codes, least));
        },
      ),
    ));
  it("reach over the pieces that kernels are given, up to the record's end", () => {
    for (const [first, end] of [
      [MOST_AT_ONCE - 3, MOST_AT_ONCE + 4],
      [10, 3 * MOST_AT_ONCE],
      [5, 5 * MOST_AT_ONCE],
      [2 * MOST_AT_ONCE, 5 * MOST_AT_ONCE],
    ] as const) {
      const codes = Int32Array.from({ length: 5 * MOST_AT_ONCE }, (_, n) => (n >= first && n < end ? 9 : n % 2));
      expect([...equalRuns(codes, 6)]).toEqual([[first, end]]);
    }
  });
});
