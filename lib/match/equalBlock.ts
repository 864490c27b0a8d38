/** Where, near `at`, n readings equal the n before them; null where nowhere. One reading alone may agree by chance, so that a move is asked for. */
export function equalBlock(codes: Int32Array, at: number, n: number, near: number): number | null {
  for (let away = 0; away <= near; away++)
    for (const start of away === 0 ? [at] : [at - away, at + away]) {
      if (start - n < 0 || start + n > codes.length) continue;
      let same = 0;
      for (let i = 0; i < n; i++) if (codes[start + i] === codes[start + i - n]) same++;
      if (same === n) return start;
    }
  return null;
}
