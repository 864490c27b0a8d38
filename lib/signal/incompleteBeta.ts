import { kernels } from "../kernels/kernels.generated.js";

/** x^a·(1−x)^b / (a·B(a, b)), in Loader's form: no cancellation for large a and b. */
function front(a: number, b: number, x: number, y: number): number {
  const n = a + b;
  const exponent =
    kernels.stirlingError(n) -
    kernels.stirlingError(a) -
    kernels.stirlingError(b) -
    kernels.deviancePart(a, n * x) -
    kernels.deviancePart(b, n * y);
  return Math.exp(exponent) * Math.sqrt(b / (2 * Math.PI * a * n));
}

/** The continued fraction of I_x(a, b), good for x below the mean. */
function fraction(a: number, b: number, x: number): number {
  const tiny = 1e-300;
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  if (Math.abs(d) < tiny) d = tiny;
  d = 1 / d;
  let h = d;
  for (let m = 1; m < 1e6; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 + even * d;
    if (Math.abs(d) < tiny) d = tiny;
    c = 1 + even / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    h *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 + odd * d;
    if (Math.abs(d) < tiny) d = tiny;
    c = 1 + odd / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    const step = d * c;
    h *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return h;
}

/**
 * Regularised incomplete beta function I_x(a, b) (lower) and 1 − I_x(a, b) (upper), each computed directly where it is the small one.
 * @param x  0…1
 * @param y  1 − x, to be given where x is so close to 1 that the difference would lose its digits
 * @throws RangeError  a or b is not positive, or x lies outside 0…1
 * Source: Abramowitz and Stegun, 1964, 26.5.8 (continued fraction, evaluated after Lentz 1976).
 */
export function incompleteBeta(a: number, b: number, x: number, y = 1 - x): { lower: number; upper: number } {
  if (!(a > 0 && b > 0 && x >= 0 && x <= 1))
    throw new RangeError(`incompleteBeta: needs a, b > 0 and x in 0…1; got a ${a}, b ${b}, x ${x}`);
  if (x === 0) return { lower: 0, upper: 1 };
  if (y === 0) return { lower: 1, upper: 0 };
  if (x < (a + 1) / (a + b + 2)) {
    const lower = Math.min(1, front(a, b, x, y) * fraction(a, b, x));
    return { lower, upper: 1 - lower };
  }
  const upper = Math.min(1, front(b, a, y, x) * fraction(b, a, y));
  return { lower: 1 - upper, upper };
}
