import { normalCdf, normalPdf } from "./normal";

/** L(0) = 1/√(2π). */
const OVERSHOOT_0: f64 = 1 / sqrt<f64>(2 * Math.PI);

/** L(u) = φ(u) − u·Φ(−u): the mean overshoot of a standard normal above u. */
export function overshoot(u: f64): f64 {
  return u > 8 ? 0 : normalPdf(u) - u * normalCdf(-u);
}

/** Correlation of the noise errors of two transitions: see lib/measure/transitions.ts. */
export function noiseCorrelation(distance: f64, sigma: f64): f64 {
  if (sigma > 0) return overshoot(abs<f64>(distance) / (sigma * Math.SQRT2)) / OVERSHOOT_0;
  return distance === 0 ? 1 : 0;
}
