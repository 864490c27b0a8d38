import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { type SweepModel, type Triangle, triangleOf } from "./sweepModel.ts";

/** Cells in which the converter's own curve is averaged, at most. */
const CELLS = 2048;

/** A fitted triangle, and what its readings leave of it at its heights. */
export interface SweepCurve {
  readonly triangle: Triangle;
  /** Codes, in cells of even height from the lower apex to the upper one; NaN where not both slopes were seen. */
  readonly curve: Float64Array;
}

/**
 * The converter's own curve as a triangle shows it: what its readings leave of the fitted triangle, as the mean of what rising and falling passes leave at each code,
 * so that a delay, which acts with the sign of the slope, does not enter.
 * @param shows  codes strictly between which the triangle shows: not on a rail or an apex
 * @param most   pieces of the span, each averaged for itself
 */
export function sweepCurve(
  codes: Int32Array,
  model: SweepModel,
  [first, last]: Stretch,
  shows: UsableCodes,
  most = CELLS,
): SweepCurve {
  const { amplitude, residualRms } = model;
  const triangle = triangleOf(model);
  const cells = Math.max(1, Math.floor(Math.min(most, Math.max(16, 2 * amplitude))));
  const limit = 6 * residualRms + 2;
  let seen = { sums: new Float64Array(2 * cells), counts: new Float64Array(2 * cells) } as ReturnType<
    typeof kernels.addToSweepCurve
  >;
  for (let from = first; from <= last; from += MOST_AT_ONCE) {
    const part = codes.subarray(from, Math.min(last + 1, from + MOST_AT_ONCE));
    seen = kernels.addToSweepCurve(seen, part, triangle, from, shows.floor, shows.ceiling, limit);
  }
  const curve = new Float64Array(cells);
  for (let cell = 0; cell < cells; cell++) {
    const [up, down] = [seen.counts[cell]!, seen.counts[cells + cell]!];
    curve[cell] = up > 0 && down > 0 ? (seen.sums[cell]! / up + seen.sums[cells + cell]! / down) / 2 : Number.NaN;
  }
  return { triangle, curve };
}

/** Means of `step` readings each, from reading first to last, of what the triangle and the curve leave; what does not show, or stands beyond the limit, counts as left with nothing. */
export function meansBesideTriangle(
  codes: Int32Array,
  { triangle, curve }: SweepCurve,
  [first, last]: Stretch,
  step: number,
  { floor, ceiling }: UsableCodes,
  limit: number,
): Float64Array {
  const means = new Float64Array(Math.floor((last - first + 1) / step));
  const most = Math.max(1, Math.floor(MOST_AT_ONCE / step));
  for (let i = 0; i < means.length; i += most) {
    const [from, to] = [first + i * step, first + Math.min(means.length, i + most) * step];
    means.set(
      kernels.meansBesideTriangle(codes.subarray(from, to), triangle, curve, from, step, floor, ceiling, limit),
      i,
    );
  }
  return means;
}

/**
 * By how many codes blocks of `length` readings are ahead of the triangle, in the direction of its slope.
 * @returns with the curve taken off, NaN where fewer than half of a block's readings show; and with the curve left in
 */
export function aheadOfTriangle(
  codes: Int32Array,
  { triangle, curve }: SweepCurve,
  length: number,
  { floor, ceiling }: UsableCodes,
  limit: number,
): { readonly ahead: Float64Array; readonly plain: Float64Array } {
  const count = Math.floor(codes.length / length);
  const [ahead, plain] = [new Float64Array(count), new Float64Array(count)];
  const most = Math.max(1, Math.floor(MOST_AT_ONCE / length));
  for (let b = 0; b < count; b += most) {
    const [from, to] = [b * length, Math.min(count, b + most) * length];
    const part = kernels.aheadOfTriangle(
      codes.subarray(from, to),
      triangle,
      curve,
      from,
      length,
      floor,
      ceiling,
      limit,
    );
    ahead.set(part.ahead, b);
    plain.set(part.plain, b);
  }
  return { ahead, plain };
}
