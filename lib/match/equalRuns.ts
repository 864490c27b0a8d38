import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";

/** Runs of at least `least` equal readings, 2 or more, in order: the first reading of each, and the first after it. */
export function* equalRuns(codes: Int32Array, least: number): Generator<readonly [first: number, end: number]> {
  const { length } = codes;
  let from = 0;
  let most = Math.max(MOST_AT_ONCE, 2 * least);
  while (from + least <= length) {
    const runs = kernels.equalRuns(codes.subarray(from, from + most), least);
    for (let i = 0; i + 1 < runs.length; i += 2) yield [from + runs[i]!, from + runs[i + 1]!];
    const next = from + runs[runs.length - 1]!;
    if (from + most >= length) {
      if (next + least <= length) yield [next, length];
      return;
    }
    // A run over the whole piece has its end further on.
    if (next === from) most *= 2;
    from = next;
  }
}
