import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import type { Course } from "./driftingSine.ts";

const ALL: UsableCodes = { floor: Number.NEGATIVE_INFINITY, ceiling: Number.POSITIVE_INFINITY };

/**
 * What a fitted sine, and courses of its middle and amplitude along a stretch, leave of readings first…last: means of `step` readings each.
 * @param usable  where the sine is not strictly between, readings say nothing and count as left with nothing
 */
export function meansBesideSine(
  codes: Int32Array,
  fit: SineFit,
  { courses, along }: { readonly courses: readonly Course[]; readonly along: Stretch },
  [first, last]: Stretch,
  step: number,
  { floor, ceiling }: UsableCodes = ALL,
): Float64Array {
  const moves = {
    sizes: Float64Array.from(courses, (c) => c.size),
    timeConstants: Float64Array.from(courses, (c) => c.timeConstant ?? 0),
    ofAmplitude: Uint8Array.from(courses, (c) => (c.of === "amplitude" ? 1 : 0)),
    first: along[0],
    readings: along[1] - along[0] + 1,
  };
  const means = new Float64Array(Math.floor((last - first + 1) / step));
  const most = Math.max(1, Math.floor(MOST_AT_ONCE / step));
  for (let i = 0; i < means.length; i += most) {
    const [from, to] = [first + i * step, first + Math.min(means.length, i + most) * step];
    means.set(kernels.meansBesideSine(codes.subarray(from, to), fit, moves, from, step, floor, ceiling), i);
  }
  return means;
}
