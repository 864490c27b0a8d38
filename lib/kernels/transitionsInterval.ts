import { normalCdf, normalPdf } from "./normal";

const Z95: f64 = 1.959964;
const STEPS = 40;

/** 95 % half-width, in units of the total standard uncertainty, when the share i/40 of the variance is one uniform part: 1.96 at i = 0, 1.645 at i = 40. */
export function coverageFactors(): Float64Array {
  const factors = new Float64Array(STEPS + 1);
  factors[0] = Z95;
  for (let i = 1; i <= STEPS; i++) {
    const r = <f64>i / STEPS;
    const sd = sqrt<f64>(1 - r);
    const a = sqrt<f64>(3 * r);
    if (sd === 0) {
      factors[i] = 0.95 * a;
      continue;
    }
    // Newton: the slope of the share is the density on either side.
    let u = Z95;
    for (let step = 0; step < 6; step++) {
      const density = (normalCdf((u + a) / sd) - normalCdf((u - a) / sd)) / a;
      u += (0.95 - covered(u, sd, a)) / density;
    }
    factors[i] = u;
  }
  return factors;
}

/** Share of |normal(sd) + uniform(±a)| within u. Source: METHODS 3, closed form of the convolution. */
function covered(u: f64, sd: f64, a: f64): f64 {
  return (sd / a) * (primitive((u + a) / sd) - primitive((u - a) / sd)) - 1;
}

function primitive(z: f64): f64 {
  return z * normalCdf(z) + normalPdf(z);
}

/**
 * Half-width at 95 % of an error made of normal parts and of uniform parts, of which the largest decides the shape.
 * @param factors  coverageFactors
 * @param variance  of all parts together
 * @param uniform   variance of the largest uniform part (half its width squared, over 3)
 * @example halfWidth95(coverageFactors(), 1, 0) // 1.959964
 */
export function halfWidth95(factors: Float64Array, variance: f64, uniform: f64): f64 {
  if (!(variance > 0)) return 0;
  const place = STEPS * min<f64>(1, max<f64>(0, uniform / variance));
  const i = min<i32>(STEPS - 1, <i32>place);
  const factor = factors[i] + (place - i) * (factors[i + 1] - factors[i]);
  return factor * sqrt<f64>(variance);
}

/** Standard uncertainty as curves carry it: the 95 % half-width over 1.96, so that value ± 1.96·u holds the truth in 95 of 100 cases whatever the shape. */
export function standard95(factors: Float64Array, variance: f64, uniform: f64): f64 {
  return halfWidth95(factors, variance, uniform) / Z95;
}
