import { kernels } from "../kernels/kernels.generated.js";

/** Density of the standard normal distribution at z. */
export const normalPdf: (z: number) => number = kernels.normalPdf;

/**
 * Standard normal distribution function Φ(z): the share of a Gaussian that lies below z standard deviations. For the share above, pass −z.
 * Rational approximation below |z| = 3.5, where the published one starts to lose digits of the tail, continued fraction beyond; relative error about 1e-13.
 * Source: Hart et al., "Computer Approximations", 1968, no. 5666; West, "Better approximations to cumulative normal functions", Wilmott, 2005.
 * @example normalCdf(1.4) // 0.919243
 */
export const normalCdf: (z: number) => number = kernels.normalCdf;

/**
 * Quantile of the standard normal distribution: the z below which the share p lies; ±Infinity at p = 1 and p = 0. About 1e-15 relative.
 * @throws RangeError  p lies outside 0…1
 * Source: Wichura, "Algorithm AS 241: the percentage points of the normal distribution", Applied Statistics 37(3), 1988.
 * @example normalQuantile(0.975) // 1.959964
 */
export function normalQuantile(p: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`normalQuantile: p must lie in 0…1; got ${p}`);
  return kernels.normalQuantile(p);
}
