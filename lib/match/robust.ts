import { median, medianDistance } from "../signal/median.ts";

/**
 * Standard deviation of the bulk of some values, by the median distance from their median: a tenth of wild values hardly moves it.
 * Source: 1.4826·MAD for a Gaussian; Hampel, JASA 69, 1974.
 */
export function robustDeviation(values: ArrayLike<number>, about = median(values)): number {
  return 1.4826 * medianDistance(values, about);
}

/** Median of five. */
export function median5(a: number, b: number, c: number, d: number, e: number): number {
  // Of five, drop the smallest and largest of the first four, then take the middle of what is left with the fifth.
  const low = Math.max(Math.min(a, b), Math.min(c, d));
  const high = Math.min(Math.max(a, b), Math.max(c, d));
  return Math.max(Math.min(low, high), Math.min(Math.max(low, high), e));
}
