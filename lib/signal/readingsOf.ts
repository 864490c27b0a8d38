/** Readings given to a kernel at a time: a long record is not copied whole. */
export const CHUNK = 1 << 18;

/**
 * Readings first…last as kernels take them.
 * @param exclude  index of a reading → whether to leave it out; it is NaN then
 */
export function readingsOf(
  codes: ArrayLike<number>,
  first: number,
  last: number,
  exclude?: ((n: number) => boolean) | null,
): Float64Array {
  if (!exclude && codes instanceof Float64Array) return codes.subarray(first, last + 1);
  if (!exclude && codes instanceof Int32Array) return new Float64Array(codes.subarray(first, last + 1));
  const values = new Float64Array(last - first + 1);
  for (let i = 0; i < values.length; i++) values[i] = exclude?.(first + i) ? Number.NaN : codes[first + i]!;
  return values;
}
