/**
 * Are the columns of a table without header one stream of readings, several a line, or channels of their own? One stream runs on from the end of a line
 * to the start of the next, as close to its neighbour there as inside the line; channels differ from each other but each runs on down its column.
 * @param certain  only when the readings clearly run on from column to column
 * @param columns  two or more columns of equal length
 */
export function sameStream(columns: readonly (readonly number[])[], certain = false): boolean {
  const width = columns.length;
  const height = Math.min(...columns.map((c) => c.length));
  if (height < 2) return width >= 4;
  let within = 0;
  let across = 0;
  let down = 0;
  for (let row = 0; row < height; row++) {
    for (let c = 0; c < width; c++) {
      const here = columns[c]![row]!;
      if (c + 1 < width) within += Math.abs(columns[c + 1]![row]! - here);
      else if (row + 1 < height) across += Math.abs(columns[0]![row + 1]! - here);
      if (row + 1 < height) down += Math.abs(columns[c]![row + 1]! - here);
    }
  }
  within /= height * (width - 1);
  across /= height - 1;
  down /= (height - 1) * width;
  const spans = columns.map((c) => span(c.slice(0, height)));
  const widest = spans.reduce((a, b) => Math.max(a, b));
  const narrowest = spans.reduce((a, b) => Math.min(a, b));
  // Columns of one stream sample the same signal: two that differ in span are channels, however close they lie.
  if (width <= 3 && height >= 16 && widest > 16 && narrowest < 0.75 * widest) return false;
  if (within <= 0.85 * down && across <= 1.6 * within + 1e-9 && within <= 1.6 * across + 1e-9) return true;
  if (certain || width < 4) return false;
  // Nothing runs on, as with a fast tone: then the columns of one buffer span the same range, channels each their own.
  const all = span(columns.flatMap((c) => c.slice(0, height)));
  const mean = spans.reduce((a, b) => a + b, 0) / width;
  // A short column seldom reaches the extremes of all.
  return mean >= (height < 8 ? 0.3 : height < 64 ? 0.45 : 0.6) * all;
}

function span(xs: readonly number[]): number {
  return xs.reduce((a, b) => Math.max(a, b)) - xs.reduce((a, b) => Math.min(a, b));
}
