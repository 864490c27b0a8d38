import type { Lsb } from "../bench/units.ts";
import { normalQuantile } from "../signal/normal.ts";

/**
 * Readings at each level of a staircase whose mean is to be known to ± tolerance.
 * @param codeRms     σ of one code with quantisation, LSB
 * @param tolerance   β, LSB
 * @param confidence  of one level; 0.95 by default
 * @returns (zσ/β)², rounded up, at least two
 * @throws RangeError  tolerance is not positive and finite, or confidence not between 0 and 1
 * @example levelReadings(1, 0.195997) // 100
 */
export function levelReadings(codeRms: Lsb, tolerance: Lsb, confidence = 0.95): number {
  if (!(tolerance > 0 && tolerance < Number.POSITIVE_INFINITY))
    throw new RangeError(`levelReadings: tolerance must be positive and finite, in LSB; got ${tolerance}`);
  if (!(confidence > 0 && confidence < 1))
    throw new RangeError(`levelReadings: confidence must lie between 0 and 1; got ${confidence}`);
  // A hair below, so that a whole number but for rounding is not counted one up.
  return Math.max(2, Math.ceil(((normalQuantile((1 + confidence) / 2) * codeRms) / tolerance) ** 2 - 1e-4));
}
