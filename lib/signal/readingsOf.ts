import { isUsable, type UsableCodes } from "./usableCodes.ts";

/** Readings given to a kernel at a time, at most: a long record is not copied whole. */
export const MOST_AT_ONCE = 1 << 15;
/** The first time only a few, so that the engine has compiled the kernel for speed by the time the many come. */
const FIRST = 1 << 14;

/**
 * Pieces from…to of `count` readings for a kernel whose sums are handed on; all but the last are whole multiples of FIRST.
 * @param most  readings of a piece, where what is handed on is larger than the pieces would be
 */
export function piecesOf(count: number, most = MOST_AT_ONCE): { readonly from: number; readonly to: number }[] {
  const pieces = [];
  let from = 0;
  for (let length = FIRST; from < count; length = Math.min(most, 2 * length)) {
    const to = Math.min(count, from + length);
    pieces.push({ from, to });
    from = to;
  }
  return pieces;
}

/**
 * Readings from…to, `to` not included, as kernels take them.
 * @param usable  codes to use; others are NaN
 */
export function readingsOf(
  codes: ArrayLike<number>,
  from: number,
  to: number,
  usable: UsableCodes | null = null,
): Float64Array {
  if (usable === null && codes instanceof Float64Array) return codes.subarray(from, to);
  // What a kernel is given is set value by value in its own memory: whole numbers become f64 there, and a copy here would be made in vain.
  if (usable === null && codes instanceof Int32Array) return codes.subarray(from, to) as unknown as Float64Array;
  const values = new Float64Array(to - from);
  for (let i = 0; i < values.length; i++) {
    const y = codes[from + i]!;
    values[i] = isUsable(y, usable) ? y : Number.NaN;
  }
  return values;
}
