import { normalCdf, normalPdf, normalQuantile } from "./normal.ts";

/** Coverage of every interval this tool states. */
export const LEVEL = 0.95;

/** Half-width of a 95 % interval in standard uncertainties of a normal distribution. */
export const Z95 = normalQuantile((1 + LEVEL) / 2);

/** Rectangles that are convolved one by one. */
const MOST_RECTANGLES = 6;

/** g(z) = zΦ(z) + φ(z), the integral of Φ: a rectangle's running mean of a normal distribution is a difference of two of these. */
function integralOfCdf(z: number): number {
  return z * normalCdf(z) + normalPdf(z);
}

/** Chance that |normal + one rectangle| ≤ halfWidth. Source: METHODS 3; JCGM 101:2008, propagation of distributions, in closed form. */
function withOneRectangle(halfWidth: number, standard: number, limit: number): number {
  const up = (halfWidth + limit) / standard;
  const down = (halfWidth - limit) / standard;
  // Beyond some eight standard uncertainties the rectangle's flat part is all there is.
  if (standard === 0) return Math.min(1, halfWidth / limit);
  return (standard / limit) * (integralOfCdf(up) - integralOfCdf(down)) - 1;
}

/**
 * Chance that |normal + several rectangles| ≤ halfWidth for each of a list of half-widths, by the Fourier series of the density on an interval that
 * holds all but 1e-12 of it. Deterministic; error below 1e-5.
 */
function withRectangles(standard: number, limits: readonly number[]): (halfWidth: number) => number {
  const reach = 7.5 * standard + limits.reduce((sum, a) => sum + a, 0);
  const coefficients: number[] = [];
  for (let k = 1; k <= 4096; k++) {
    const t = (Math.PI * k) / reach;
    let product = Math.exp(-0.5 * (standard * t) ** 2);
    let envelope = product;
    for (const a of limits) {
      product *= Math.sin(a * t) / (a * t);
      envelope *= Math.min(1, 1 / (a * t));
    }
    coefficients.push((2 / (Math.PI * k)) * product);
    if (envelope < 1e-9) break;
  }
  return (halfWidth) => {
    if (halfWidth >= reach) return 1;
    let sum = halfWidth / reach;
    for (let k = 1; k <= coefficients.length; k++)
      sum += coefficients[k - 1]! * Math.sin((Math.PI * k * halfWidth) / reach);
    return sum;
  };
}

/**
 * The chance that an error made of a normal part and of independent rectangular parts stays within ± halfWidth.
 * @param standard  standard uncertainty of the normal part, ≥ 0
 * @param limits    ± limits of the rectangular parts, ≥ 0, in the same unit
 */
export function coverageOf(halfWidth: number, standard: number, limits: readonly number[]): number {
  return coverageFunction(standard, limits)(halfWidth);
}

function coverageFunction(standard: number, limits: readonly number[]): (halfWidth: number) => number {
  const [largest = 0] = limits;
  if (largest === 0) return (u) => (standard === 0 ? 1 : 2 * normalCdf(u / standard) - 1);
  if (limits.length === 1) return (u) => withOneRectangle(u, standard, largest);
  return withRectangles(standard, limits);
}

/**
 * The expanded uncertainty that covers 95 %: half-width of the central interval of a normal part convolved with independent rectangular parts.
 * Not "k = 2 by habit", which covers 96 to 99.7 % as the rectangles grow.
 * @param standard  standard uncertainty of the normal part (the record's), ≥ 0
 * @param limits    ± limits of the rectangular parts (the source's and the reference's), in the same unit; order and zeros do not matter
 * @param level     coverage, 0.95 unless told otherwise
 * @throws RangeError  a part is negative or not finite
 * Source: JCGM 101:2008 (propagation of distributions); METHODS 3. One rectangle in closed form, several by a Fourier series.
 * @example halfWidth(1, []) // 1.959964
 * @example halfWidth(0, [1]) // 0.95
 */
export function halfWidth(standard: number, limits: readonly number[], level = LEVEL): number {
  if (!(standard >= 0 && standard < Number.POSITIVE_INFINITY))
    throw new RangeError(`halfWidth: standard must be finite and not negative; got ${standard}`);
  for (const a of limits)
    if (!(a >= 0 && a < Number.POSITIVE_INFINITY))
      throw new RangeError(`halfWidth: limits must be finite and not negative; got ${a}`);
  const sorted = [...limits].sort((a, b) => b - a);
  const scale = Math.max(standard, sorted[0] ?? 0);
  if (scale === 0) return 0;
  // Parts a thousand times smaller than the largest move the result by less than 1e-6 of it.
  const kept = sorted.filter((a) => a > 1e-3 * scale).map((a) => a / scale);
  let normal = standard / scale < 1e-6 ? 0 : standard / scale;
  // Many rectangles add up to something normal: all but the largest few go into the normal part.
  for (const a of kept.splice(MOST_RECTANGLES)) normal = Math.hypot(normal, a / Math.sqrt(3));
  if (kept.length === 0) return normalQuantile((1 + level) / 2) * standard;
  const covered = coverageFunction(normal, kept);
  let low = 0;
  let high = 7.5 * normal + kept.reduce((sum, a) => sum + a, 0);
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (covered(middle) < level) low = middle;
    else high = middle;
  }
  return scale * ((low + high) / 2);
}
