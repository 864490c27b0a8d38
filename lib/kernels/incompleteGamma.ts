import { deviancePart, stirlingError } from "./logGamma";
import { normalQuantile } from "./normal";

/** x^a·e^−x/Γ(a + 1), in Loader's form. */
function gammaFront(a: f64, x: f64): f64 {
  return Math.exp(-stirlingError(a) - deviancePart(a, x)) / sqrt<f64>(2 * Math.PI * a);
}

/** Regularised incomplete gamma functions, lower P(a, x) and upper Q(a, x) = 1 − P. */
export class IncompleteGamma {
  lower: f64 = 0;
  upper: f64 = 0;
}

/** a > 0, x ≥ 0: see lib/signal/incompleteGamma.ts. */
export function incompleteGamma(a: f64, x: f64): IncompleteGamma {
  const share = new IncompleteGamma();
  setShare(share, a, x);
  return share;
}

function setShare(share: IncompleteGamma, a: f64, x: f64): void {
  if (x === 0 || x === Infinity) {
    share.lower = x === 0 ? 0 : 1;
    share.upper = 1 - share.lower;
    return;
  }
  const front = gammaFront(a, x);
  if (x < a + 1) {
    let term: f64 = 1;
    let sum: f64 = 1;
    for (let n: f64 = 1; term > sum * 1e-17; n++) {
      term *= x / (a + n);
      sum += term;
    }
    share.lower = min<f64>(1, front * sum);
    share.upper = 1 - share.lower;
    return;
  }
  const tiny: f64 = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let h = d;
  for (let n: f64 = 1; n < 1e7; n++) {
    const an = -n * (n - a);
    b += 2;
    d = an * d + b;
    if (abs<f64>(d) < tiny) d = tiny;
    c = b + an / c;
    if (abs<f64>(c) < tiny) c = tiny;
    d = 1 / d;
    const step = d * c;
    h *= step;
    if (abs<f64>(step - 1) <= f64.EPSILON) break;
  }
  share.upper = min<f64>(1, front * a * h);
  share.lower = 1 - share.upper;
}

/**
 * x with P(a, x) = p; q = 1 − p is given apart so that the upper tail keeps its digits. Newton's steps for the logarithm of the smaller tail over that of x, where
 * both tails run nearly straight; a step that leaves the bracket is halved in instead.
 */
export function gammaQuantile(p: f64, q: f64, a: f64): f64 {
  if (p === 0) return 0;
  if (q === 0) return Infinity;
  // Wilson and Hilferty 1931: the cube root of chi-square is nearly normal.
  const spread = 1 / (9 * a);
  const root = max<f64>(1e-3, 1 - spread + (p < 0.5 ? normalQuantile(p) : -normalQuantile(q)) * sqrt<f64>(spread));
  let x = a * root ** 3;
  let low: f64 = 0;
  let high: f64 = Infinity;
  const share = new IncompleteGamma();
  for (let i = 0; i < 300; i++) {
    setShare(share, a, x);
    const miss = p < 0.5 ? Math.log(share.lower / p) : Math.log(q / share.upper);
    if (miss === 0) return x;
    if (miss < 0) low = x;
    else high = x;
    const density = a * gammaFront(a, x);
    let next = x * Math.exp((-miss * (p < 0.5 ? share.lower : share.upper)) / density);
    // Steps square their error: after one so small only rounding is left.
    if (abs<f64>(next - x) <= 1e-11 * x || next < f64.MIN_VALUE) return next;
    if (!(next >= low && next < high))
      next = high === Infinity ? 4 * low : low === 0 ? high / 4 : sqrt<f64>(low) * sqrt<f64>(high);
    x = next;
  }
  return x;
}

/** Quantile of the chi-square distribution, p in 0…1. */
export function chiSquareQuantile(p: f64, dof: f64): f64 {
  return 2 * gammaQuantile(p, 1 - p, dof / 2);
}
