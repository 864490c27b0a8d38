/** Median of the finite values; NaN of none. Does not change its argument. */
export function median(values: ArrayLike<number>): number {
  const finite: number[] = [];
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i]!)) finite.push(values[i]!);
  if (finite.length === 0) return Number.NaN;
  finite.sort((a, b) => a - b);
  const half = finite.length >> 1;
  return finite.length % 2 === 1 ? finite[half]! : (finite[half - 1]! + finite[half]!) / 2;
}

/**
 * Standard deviation of the bulk of some values, by the median distance from their median: a tenth of wild values hardly moves it.
 * Source: 1.4826·MAD for a Gaussian; Hampel, JASA 69, 1974.
 */
export function robustDeviation(values: ArrayLike<number>, about = median(values)): number {
  const distances = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) distances[i] = Math.abs(values[i]! - about);
  return 1.4826 * median(distances);
}

/** Median of five. */
export function median5(a: number, b: number, c: number, d: number, e: number): number {
  // Of five, drop the smallest and largest of the first four, then take the middle of what is left with the fifth.
  const low = Math.max(Math.min(a, b), Math.min(c, d));
  const high = Math.min(Math.max(a, b), Math.max(c, d));
  return Math.max(Math.min(low, high), Math.min(Math.max(low, high), e));
}
