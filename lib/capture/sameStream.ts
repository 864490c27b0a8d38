/**
 * Are the columns of a table without header one stream of readings, several a line, or channels of their own? One stream runs on from the end of a line
 * to the start of the next, as close to its neighbour there as inside the line; channels differ from each other but each runs on down its column.
 * @param columns  two or more columns of equal length
 */
export function sameStream(columns: readonly (readonly number[])[]): boolean {
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
  // Mean and spread of each column: columns of one stream sample the same signal.
  const means = columns.map((c) => c.slice(0, height).reduce((a, b) => a + b, 0) / height);
  const grand = means.reduce((a, b) => a + b, 0) / width;
  const variance =
    columns.reduce((sum, c, i) => sum + c.slice(0, height).reduce((a, b) => a + (b - means[i]!) ** 2, 0), 0) /
    Math.max(1, width * (height - 1));
  const spread = means.reduce((a, m) => a + (m - grand) ** 2, 0) / (width - 1);
  const apart = spread > 16 * (variance / height) + 1e-12;
  if (within <= 0.85 * down && across <= 1.6 * within + 1e-9 && within <= 1.6 * across + 1e-9) return true;
  if (apart) return false;
  if (within > 1.15 * down || across > 1.6 * within || within > 1.6 * across) return false;
  // Nothing tells them apart: many equal columns are a printed buffer, a few are channels.
  return width >= 4;
}
