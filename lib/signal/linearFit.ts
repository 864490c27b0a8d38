import { kernels } from "../kernels/kernels.generated.js";

/** A straight line y = intercept + slope·x fitted by least squares, with what the residual says about its uncertainty. */
export interface LineFit {
  readonly slope: number;
  readonly intercept: number;
  /** Standard uncertainties, white residuals assumed; null with two points only, where nothing is left to judge by. */
  readonly slopeSd: number | null;
  readonly interceptSd: number | null;
  /** √(RSS/(n − 2)), in the unit of y; null with two points only. */
  readonly residualSd: number | null;
  readonly rss: number;
  /** Share of the spread of y that the line explains, 0…1; 1 when y is constant. */
  readonly rSquared: number;
  readonly points: number;
  readonly meanX: number;
  readonly meanY: number;
}

/**
 * Ordinary least-squares line through points. Both axes are centred first, so that x far from zero costs no digits.
 * @param x  n ≥ 2 values, not all equal
 * @param y  n values
 * @throws RangeError  lengths differ, fewer than two points, or all x equal
 * Source: Draper and Smith, "Applied Regression Analysis", 1998, chapter 1 (from memory); checked with NIST StRD Norris.
 * @example fitLine([0, 1, 2], [1, 3, 5]).slope // 2
 */
export function fitLine(x: ArrayLike<number>, y: ArrayLike<number>): LineFit {
  const n = x.length;
  if (n !== y.length) throw new RangeError(`fitLine: x and y must be equally long; got ${n} and ${y.length}`);
  if (n < 2) throw new RangeError(`fitLine: requires at least 2 points; got ${n}`);
  const { meanX, meanY, sxx, syy, slope, rss } = kernels.lineSums(new Float64Array(x), new Float64Array(y));
  if (!(sxx > 0)) throw new RangeError(`fitLine: x must not all be equal; got ${n} points at ${x[0]}`);
  const variance = n > 2 ? rss / (n - 2) : null;
  return {
    slope,
    intercept: meanY - slope * meanX,
    slopeSd: variance === null ? null : Math.sqrt(variance / sxx),
    interceptSd: variance === null ? null : Math.sqrt(variance * (1 / n + (meanX * meanX) / sxx)),
    residualSd: variance === null ? null : Math.sqrt(variance),
    rss,
    rSquared: syy > 0 ? 1 - rss / syy : 1,
    points: n,
    meanX,
    meanY,
  };
}
