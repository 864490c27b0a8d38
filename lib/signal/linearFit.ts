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
  let sumX = 0;
  let sumY = 0;
  for (let i = 0; i < n; i++) {
    sumX += x[i]!;
    sumY += y[i]!;
  }
  let meanX = sumX / n;
  let meanY = sumY / n;
  // A second round takes off what rounding left in the means.
  let leftX = 0;
  let leftY = 0;
  for (let i = 0; i < n; i++) {
    leftX += x[i]! - meanX;
    leftY += y[i]! - meanY;
  }
  meanX += leftX / n;
  meanY += leftY / n;
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  for (let i = 0; i < n; i++) {
    const dx = x[i]! - meanX;
    const dy = y[i]! - meanY;
    sxx += dx * dx;
    sxy += dx * dy;
    syy += dy * dy;
  }
  if (!(sxx > 0)) throw new RangeError(`fitLine: x must not all be equal; got ${n} points at ${x[0]}`);
  const slope = sxy / sxx;
  let rss = 0;
  for (let i = 0; i < n; i++) {
    const r = y[i]! - meanY - slope * (x[i]! - meanX);
    rss += r * r;
  }
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
