import { kernels } from "../kernels/kernels.generated.js";

/**
 * Regularised incomplete gamma functions, lower P(a, x) and upper Q(a, x) = 1 − P, each computed directly where it is the small one, so that
 * neither tail loses digits. Steps grow as √a: a few thousand at a = 10⁷.
 * @param a  shape, > 0
 * @param x  ≥ 0
 * @throws RangeError  a is not positive or x is negative
 * Source: Abramowitz and Stegun, 1964, 6.5.29 (series) and 6.5.31 (continued fraction, evaluated after Lentz 1976).
 */
export function incompleteGamma(a: number, x: number): { lower: number; upper: number } {
  if (!(a > 0 && x >= 0)) throw new RangeError(`incompleteGamma: needs a > 0 and x ≥ 0; got a ${a}, x ${x}`);
  return kernels.incompleteGamma(a, x);
}
