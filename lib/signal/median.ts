import { median as medianOf } from "simple-statistics";

/**
 * Median of the finite values.
 * @returns NaN of none; does not change its argument
 * @example median([3, 1, Number.NaN, 2]) // 2
 */
export function median(values: ArrayLike<number>): number {
  const finite: number[] = [];
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i]!)) finite.push(values[i]!);
  return finite.length === 0 ? Number.NaN : medianOf(finite);
}
