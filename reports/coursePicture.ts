/** Eighths of a character cell, from below. */
const EIGHTHS = ["▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"] as const;

/**
 * A small picture of how readings run, for a terminal: time goes right, each column shows from the smallest to the largest reading of its share.
 * @param values  at least one
 * @param first   readings first…last, both included
 * @param width   columns of the picture, labels not counted
 * @param height  rows
 * @returns rows of text without line ends; blanks where no reading lies
 */
export function coursePicture(
  values: ArrayLike<number>,
  first: number,
  last: number,
  width: number,
  height: number,
): string[] {
  const count = last - first + 1;
  const columns = Math.min(width, count);
  const low = new Float64Array(columns).fill(Number.POSITIVE_INFINITY);
  const high = new Float64Array(columns).fill(Number.NEGATIVE_INFINITY);
  for (let i = 0; i < count; i++) {
    const column = Math.floor((i * columns) / count);
    const v = values[first + i]!;
    if (v < low[column]!) low[column] = v;
    if (v > high[column]!) high[column] = v;
  }
  let bottom = Number.POSITIVE_INFINITY;
  let top = Number.NEGATIVE_INFINITY;
  for (let c = 0; c < columns; c++) {
    bottom = Math.min(bottom, low[c]!);
    top = Math.max(top, high[c]!);
  }
  const span = top - bottom || 1;
  const place = (v: number): number => ((v - bottom) / span) * (height - 0.01);
  const rows = Array.from({ length: height }, () => new Array<string>(columns).fill(" "));
  for (let c = 0; c < columns; c++) {
    const from = place(low[c]!);
    const to = place(high[c]!);
    for (let row = Math.floor(from); row <= Math.floor(to); row++) {
      // The topmost cell of a column shows in eighths how far the reading reaches into it.
      const isTop = row === Math.floor(to);
      rows[height - 1 - row]![c] = isTop ? EIGHTHS[Math.min(7, Math.floor((to - row) * 8))]! : "█";
    }
  }
  return rows.map((r) => r.join(""));
}
