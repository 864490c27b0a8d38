import type { Lsb } from "../bench/units.ts";

/**
 * By how much the mean of a quiet level's codes may miss its input for want of noise: the largest value of the sawtooth that quantisation leaves, ½ LSB
 * without noise, 0.054 LSB at σ = 0.3, nothing worth naming from σ = 0.6 on.
 * @param sigma  input-referred noise, ≥ 0
 * @returns an upper bound, 0…½ LSB
 * Source: Widrow and Kollár, "Quantization Noise", 2008, the mean of a quantised Gaussian: Σ (−1)^m/(πm)·exp(−2π²m²σ²)·sin(2πmx) (from memory); checked
 *   against exact sums (CHECKS 6).
 * @example quantisationReach(0.3) // 0.0539
 */
export function quantisationReach(sigma: Lsb): Lsb {
  const q = Math.exp(-2 * Math.PI ** 2 * sigma * sigma);
  let sum = 0;
  for (let m = 1; m <= 8; m++) sum += q ** (m * m) / (Math.PI * m);
  return Math.min(0.5, sum);
}

/**
 * Power of the quantisation error that stays the same whenever the input comes back to a level: 1/12 without noise, e^(−4π²σ²) of its first line with it.
 * @param sigma  input-referred noise, ≥ 0, LSB
 * @returns LSB²
 * Source: Widrow and Kollár, "Quantization Noise", 2008 (from memory).
 */
export function fixedQuantisation(sigma: Lsb): number {
  let sum = 0;
  for (let m = 1; m <= 8; m++) sum += Math.exp(-4 * (Math.PI * sigma * m) ** 2) / (2 * (Math.PI * m) ** 2);
  return sum;
}
