import { kernels } from "../kernels/kernels.generated.js";

/** How often each code came. Codes outside 0…topCode are counted beside, never folded in. */
export interface CodeHistogram {
  /** Element k counts code k, k = 0…topCode. */
  readonly counts: Float64Array;
  readonly below: number;
  readonly above: number;
  /** All readings, those outside included. */
  readonly total: number;
}

/**
 * Counts the codes of one or several stretches of a record in one pass.
 * @param codes      plain codes
 * @param topCode    largest code that the converter can give
 * @param stretches  readings first…last, both included; all of the record by default
 * @throws RangeError  topCode is not a whole number ≥ 1
 */
export function codeHistogram(
  codes: ArrayLike<number>,
  topCode: number,
  stretches: readonly (readonly [first: number, last: number])[] = [[0, codes.length - 1]],
): CodeHistogram {
  if (!(Number.isInteger(topCode) && topCode >= 1))
    throw new RangeError(`codeHistogram: topCode must be a whole number of at least 1; got ${topCode}`);
  const counts = new Int32Array(topCode + 1);
  let below = 0;
  let above = 0;
  let total = 0;
  for (const [first, last] of stretches) {
    for (let n = first; n <= last; n++) {
      const code = codes[n]!;
      if (code < 0) below++;
      else if (code > topCode) above++;
      else counts[code]!++;
    }
    total += Math.max(0, last - first + 1);
  }
  return { counts: Float64Array.from(counts), below, above, total };
}

/**
 * Readings below each code: element k is the number of readings with a code less than k, k = 0…topCode + 1. Readings below 0 are below every code.
 */
export function countsBelow({ counts, below }: Pick<CodeHistogram, "counts" | "below">): Float64Array {
  return kernels.runningSums(counts, below);
}
