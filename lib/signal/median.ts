import { kernels } from "../kernels/kernels.generated.js";

/**
 * Median of the finite values.
 * @returns NaN of none; does not change its argument
 * @example median([3, 1, Number.NaN, 2]) // 2
 */
export function median(values: ArrayLike<number>): number {
  return values.length === 0 ? Number.NaN : kernels.median(doubles(values));
}

/** Median of the finite distances of values from `about`. */
export function medianDistance(values: ArrayLike<number>, about: number): number {
  return values.length === 0 ? Number.NaN : kernels.medianDistance(doubles(values), about);
}

function doubles(values: ArrayLike<number>): Float64Array {
  return values instanceof Float64Array ? values : new Float64Array(values);
}
