import { kernels } from "../kernels/kernels.generated.js";
import { incompleteBeta } from "./incompleteBeta.ts";
import { incompleteGamma } from "./incompleteGamma.ts";
import { normalQuantile } from "./normal.ts";

export { normalCdf, normalPdf, normalQuantile } from "./normal.ts";

// Statistics packages have tables and approximations of these to 1e-4…1e-7; intervals at 95 % and the reference vectors (1e-9) need more.

function checkShare(name: string, p: number): void {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`${name}: p must lie in 0…1; got ${p}`);
}
function checkDof(name: string, dof: number): void {
  if (!(dof > 0)) throw new RangeError(`${name}: degrees of freedom must be positive; got ${dof}`);
}

/** Where the rising function f is zero, between low and high (f(low) ≤ 0 ≤ f(high)); ratio bisection over many decades, secant steps near the root. */
function root(f: (x: number) => number, low: number, high: number): number {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  for (let i = 0; i < 300; i++) {
    const width = b - a;
    if (!(width > 2e-15 * Math.abs(b)) || fa === 0 || fb === 0) break;
    let x = i % 3 === 2 || !(fb > fa) ? Number.NaN : a - (fa * width) / (fb - fa);
    if (!(x > a && x < b)) x = a > 0 && b > 4 * a ? Math.sqrt(a * b) : a + width / 2;
    // A step that hugs one end would leave the bracket wide: push it a little towards the other.
    const margin = 1e-14 * Math.abs(x) + Number.MIN_VALUE;
    for (const side of [x, x - margin, x + margin]) {
      if (!(side > a && side < b)) continue;
      const value = f(side);
      if (value <= 0) {
        a = side;
        fa = value;
      } else {
        b = side;
        fb = value;
      }
    }
  }
  return fa === 0 ? a : fb === 0 ? b : Math.abs(fa) < Math.abs(fb) ? a : b;
}

/** Student's t distribution function, dof > 0 (not necessarily whole; Infinity gives the normal). */
export function tCdf(t: number, dof: number): number {
  checkDof("tCdf", dof);
  const square = t * t;
  const x = dof === Number.POSITIVE_INFINITY ? 1 : dof / (dof + square);
  const tail =
    dof > 1e12
      ? incompleteGamma(0.5, square / 2).upper / 2
      : incompleteBeta(dof / 2, 0.5, x, square / (dof + square)).lower / 2;
  return t > 0 ? 1 - tail : tail;
}

/**
 * Quantile of Student's t distribution.
 * @param p    share below, 0…1
 * @param dof  degrees of freedom, > 0
 * @throws RangeError  p outside 0…1 or dof not positive
 * @example tQuantile(0.975, 9) // 2.262157
 */
export function tQuantile(p: number, dof: number): number {
  checkShare("tQuantile", p);
  checkDof("tQuantile", dof);
  if (dof > 1e12) return normalQuantile(p);
  if (p === 0.5) return 0;
  if (p > 0.5) return -tQuantile(1 - p, dof);
  if (p === 0) return Number.NEGATIVE_INFINITY;
  // The t lies further out than the normal; how far depends on dof, so the bracket is grown.
  let far = Math.max(1, -2 * normalQuantile(p));
  while (tCdf(-far, dof) > p && far < 1e300) far *= 4;
  return -root((t) => Math.log(p) - Math.log(tCdf(-t, dof)), 1e-12, far);
}

/** Chi-square distribution function. */
export function chiSquareCdf(x: number, dof: number): number {
  checkDof("chiSquareCdf", dof);
  return x <= 0 ? 0 : incompleteGamma(dof / 2, x / 2).lower;
}

/**
 * Quantile of the chi-square distribution.
 * @throws RangeError  p outside 0…1 or dof not positive
 * @example chiSquareQuantile(0.95, 9) // 16.91898
 */
export function chiSquareQuantile(p: number, dof: number): number {
  checkShare("chiSquareQuantile", p);
  checkDof("chiSquareQuantile", dof);
  return kernels.chiSquareQuantile(p, dof);
}

/** Quantile of Snedecor's F distribution with d1 and d2 degrees of freedom. */
export function fQuantile(p: number, d1: number, d2: number): number {
  checkShare("fQuantile", p);
  checkDof("fQuantile", d1);
  checkDof("fQuantile", d2);
  const x = betaQuantile(p, d1 / 2, d2 / 2);
  return (d2 * x) / (d1 * (1 - x));
}

/** Distribution function of the beta distribution. */
export function betaCdf(x: number, a: number, b: number): number {
  return incompleteBeta(a, b, Math.min(1, Math.max(0, x))).lower;
}

/**
 * Quantile of the beta distribution.
 * @throws RangeError  p outside 0…1, or a or b not positive
 */
export function betaQuantile(p: number, a: number, b: number): number {
  checkShare("betaQuantile", p);
  if (p === 0) return 0;
  if (p === 1) return 1;
  const f = (x: number): number => {
    const { lower, upper } = incompleteBeta(a, b, x);
    return p < 0.5 ? Math.log(lower) - Math.log(p) : Math.log(1 - p) - Math.log(upper);
  };
  let low = a / (a + b);
  while (f(low) > 0 && low > 1e-300) low /= 2;
  let gap = b / (a + b);
  while (f(1 - gap) < 0 && gap > 1e-16) gap /= 2;
  return root(f, low, 1 - gap);
}

/** Probability of exactly k successes in n trials of chance p. Source: Loader 2000. */
export function binomialPmf(k: number, n: number, p: number): number {
  if (k < 0 || k > n) return 0;
  if (k === 0) return Math.exp(n * Math.log1p(-p));
  if (k === n) return p ** n;
  const exponent =
    kernels.stirlingError(n) -
    kernels.stirlingError(k) -
    kernels.stirlingError(n - k) -
    kernels.deviancePart(k, n * p) -
    kernels.deviancePart(n - k, n * (1 - p));
  return Math.exp(exponent) * Math.sqrt(n / (2 * Math.PI * k * (n - k)));
}

/** Probability of at most k successes in n trials of chance p. */
export function binomialCdf(k: number, n: number, p: number): number {
  const whole = Math.floor(k);
  if (whole < 0) return 0;
  if (whole >= n) return 1;
  return incompleteBeta(whole + 1, n - whole, p).upper;
}

/**
 * Exact interval for the mean of a Poisson count (a code bin's expected count, given what it holds).
 * @param count  events seen, a whole number ≥ 0
 * @param level  coverage, 0.95 by default
 * Source: Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28, 1936.
 * @example garwood(0) // [0, 3.688879]
 */
export function garwood(count: number, level = 0.95): readonly [low: number, high: number] {
  const tail = (1 - level) / 2;
  return [
    count === 0 ? 0 : kernels.gammaQuantile(tail, 1 - tail, count),
    kernels.gammaQuantile(1 - tail, tail, count + 1),
  ];
}

/**
 * Exact interval for a chance, given k successes in n trials.
 * Source: Clopper and Pearson, Biometrika 26, 1934.
 * @example clopperPearson(5, 100) // [0.016432, 0.112835]
 */
export function clopperPearson(k: number, n: number, level = 0.95): readonly [low: number, high: number] {
  const tail = (1 - level) / 2;
  return [k === 0 ? 0 : betaQuantile(tail, k, n - k + 1), k === n ? 1 : betaQuantile(1 - tail, k + 1, n - k)];
}

/**
 * Wilson's score interval for a chance, given k successes in n trials: close to its stated coverage on average, where Clopper and Pearson's is never below.
 * Source: Wilson, Journal of the American Statistical Association 22, 1927.
 */
export function wilson(k: number, n: number, level = 0.95): readonly [low: number, high: number] {
  const z = -normalQuantile((1 - level) / 2);
  const share = k / n;
  const centre = share + (z * z) / (2 * n);
  const half = z * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n));
  const scale = 1 + (z * z) / n;
  return [k === 0 ? 0 : (centre - half) / scale, k === n ? 1 : (centre + half) / scale];
}

/**
 * Factors that turn a standard deviation from `dof` degrees of freedom into its interval: σ lies in [s·low, s·high].
 * @example standardDeviationFactors(9) // [0.687835, 1.825610], ten readings
 */
export function standardDeviationFactors(dof: number, level = 0.95): readonly [low: number, high: number] {
  const tail = (1 - level) / 2;
  return [Math.sqrt(dof / chiSquareQuantile(1 - tail, dof)), Math.sqrt(dof / chiSquareQuantile(tail, dof))];
}

/** E[s]/σ for n normal readings: by how much the sample standard deviation reads low on average. Source: JCGM 100:2008, Annex E. */
export function c4(n: number): number {
  if (!(n >= 2)) throw new RangeError(`c4: needs at least two readings; got ${n}`);
  if (n === 2) return Math.sqrt(2 / Math.PI);
  if (n === 3) return Math.sqrt(Math.PI) / 2;
  // √(2/(n−1))·Γ(n/2)/Γ((n−1)/2) by Stirling's formula, its leading parts divided by hand so that large n does not cancel.
  const b = (n - 3) / 2;
  const exponent = kernels.stirlingError(b + 0.5) - kernels.stirlingError(b) + (b + 0.5) * Math.log1p(0.5 / b) - 0.5;
  return Math.sqrt((n - 2) / (n - 1)) * Math.exp(exponent);
}
