import type { Stretch } from "../capture/record.ts";
import type { SweepModel } from "./sweepModel.ts";

/** Cells in which the converter's own curve is averaged, at most. */
const CELLS = 2048;

/**
 * The converter's own curve as a triangle shows it: what its readings leave of the fitted triangle, as the mean of what rising and falling passes leave at each code,
 * so that a delay, which acts with the sign of the slope, does not enter.
 * @param most  pieces of the span, each averaged for itself
 * @param shows  whether the triangle shows at a code: not on a rail or an apex
 * @returns codes by code of the fitted triangle; NaN where not both slopes were seen
 */
export function sweepCurve(
  codes: Int32Array,
  model: SweepModel,
  [first, last]: Stretch,
  shows: (code: number) => boolean,
  most = CELLS,
): (code: number) => number {
  const { period, amplitude, offset, residualRms } = model;
  const { frequency, start } = period ?? { frequency: 0, start: 0 };
  const cells = Math.max(1, Math.floor(Math.min(most, Math.max(16, 2 * amplitude))));
  const cellOf = (y: number): number =>
    Math.max(0, Math.min(cells - 1, Math.floor(((y - offset + amplitude) / (2 * amplitude)) * cells)));
  const sums = [new Float64Array(cells), new Float64Array(cells)];
  const counts = [new Float64Array(cells), new Float64Array(cells)];
  const limit = 6 * residualRms + 2;
  for (let n = first; n <= last; n++) {
    const y = model.at(n);
    const left = codes[n]! - y;
    if (!shows(y) || Math.abs(left) > limit) continue;
    const x = frequency * n + start;
    const way = x - Math.floor(x) < 0.5 ? 0 : 1;
    const cell = cellOf(y);
    sums[way]![cell]! += left;
    counts[way]![cell]!++;
  }
  return (y) => {
    const cell = cellOf(y);
    const [up, down] = [counts[0]![cell]!, counts[1]![cell]!];
    return up > 0 && down > 0 ? (sums[0]![cell]! / up + sums[1]![cell]! / down) / 2 : Number.NaN;
  };
}
