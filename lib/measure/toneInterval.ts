import { kernels } from "../kernels/kernels.generated.js";
import { chiSquareQuantile, normalQuantile, tQuantile } from "../signal/distributions.ts";

/** Two-sided 95 %. */
const TAIL = 0.025;

/** 10·log10 of a power ratio. */
export function decibels(ratio: number): number {
  return 10 * Math.log10(ratio);
}

/**
 * Interval of a power estimated as a mean of squares, from the variance of that mean: the power times ν/χ², ν the degrees of freedom that
 * give this variance.
 * @param relativeVariance  variance of the estimate over the square of the estimate
 * @returns factors on the estimate, low < 1 < high
 * Source: Satterthwaite, "An approximate distribution of estimates of variance components", Biometrics 2(6), 1946.
 */
export function powerFactors(relativeVariance: number): readonly [low: number, high: number] {
  if (!(relativeVariance > 1e-12)) return [1, 1];
  const dof = Math.max(0.5, 2 / relativeVariance);
  // Beyond the table's use the cube root of χ² is normal to all digits that matter.
  if (dof > 2000) {
    const c = 2 / (9 * dof);
    const z = normalQuantile(1 - TAIL) * Math.sqrt(c);
    return [1 / (1 - c + z) ** 3, 1 / (1 - c - z) ** 3];
  }
  return [dof / chiSquareQuantile(1 - TAIL, dof), dof / chiSquareQuantile(TAIL, dof)];
}

/**
 * Interval of the power of lines found in noise, from the power seen there: the non-centrality of a χ² that gives what was seen with
 * probability 2.5 % and 97.5 %.
 * @param seen    sum of squared components over the noise variance of one component
 * @param k       components summed (2 a line); not whole when lines with unlike noise are pooled
 * @param dof     degrees of freedom of the noise's estimate
 * @param tail    probability beyond each end
 * @returns non-centralities, in the unit of `seen`; low is 0 when the noise alone explains what was seen
 * Source: Sankaran, "On the non-central chi-square distribution", Biometrika 46, 1959 (normal approximation); the noise's own degrees of
 *   freedom after Paulson, "An approximate
 * normalization of the analysis of variance distribution", Ann. Math. Stat. 13(2), 1942, and as Student's t far above the noise.
 */
export function lineFactors(seen: number, k: number, dof: number, tail = TAIL): readonly [low: number, high: number] {
  const z = dof < 1000 ? tQuantile(1 - tail, Math.max(1, dof)) : normalQuantile(1 - tail);
  return [kernels.noncentrality(seen, k, dof, z), kernels.noncentrality(Math.max(seen, k), k, dof, -z)];
}
