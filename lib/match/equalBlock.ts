/** Readings that a block cut short by the record's end must still hold, so that they do not agree by chance. */
const LEAST_SEEN = 12;

/**
 * Where, near `at`, n readings equal the n before them; null where nowhere. One reading alone may agree by chance, so that a move is asked for.
 * Of a block that the record's end cuts short the readings that are there must agree.
 */
export function equalBlock(codes: Int32Array, at: number, n: number, near: number): number | null {
  for (let away = 0; away <= near; away++)
    for (const start of away === 0 ? [at] : [at - away, at + away]) {
      const length = Math.min(n, codes.length - start);
      if (start - n < 0 || length < Math.min(n, LEAST_SEEN)) continue;
      let same = 0;
      for (let i = 0; i < length; i++) if (codes[start + i] === codes[start + i - n]) same++;
      if (same === length) return start;
    }
  return null;
}
