import { normalCdf, normalPdf } from "../signal/normal.ts";

const Z95 = 1.959964;

/** Share of |normal(sd) + uniform(±a)| within u. Source: METHODS 3, closed form of the convolution. */
function covered(u: number, sd: number, a: number): number {
  const g = (z: number): number => z * normalCdf(z) + normalPdf(z);
  return (sd / a) * (g((u + a) / sd) - g((u - a) / sd)) - 1;
}

/** 95 % half-width, in units of the total standard uncertainty, when the share r of the variance is one uniform part: 1.96 at r = 0, 1.645 at r = 1. */
const FACTORS = Float64Array.from({ length: 41 }, (_, i) => {
  const r = i / 40;
  if (i === 0) return Z95;
  const sd = Math.sqrt(1 - r);
  const a = Math.sqrt(3 * r);
  if (sd === 0) return 0.95 * a;
  // Newton: the slope of the share is the density on either side.
  let u = Z95;
  for (let step = 0; step < 6; step++) {
    const density = (normalCdf((u + a) / sd) - normalCdf((u - a) / sd)) / a;
    u += (0.95 - covered(u, sd, a)) / density;
  }
  return u;
});

/**
 * Half-width at 95 % of an error made of normal parts and of uniform parts, of which the largest decides the shape.
 * @param variance  of all parts together
 * @param uniform   variance of the largest uniform part (half its width squared, over 3)
 * @example halfWidth95(1, 0) // 1.959964
 */
export function halfWidth95(variance: number, uniform: number): number {
  if (!(variance > 0)) return 0;
  const place = 40 * Math.min(1, Math.max(0, uniform / variance));
  const i = Math.min(39, Math.floor(place));
  const factor = FACTORS[i]! + (place - i) * (FACTORS[i + 1]! - FACTORS[i]!);
  return factor * Math.sqrt(variance);
}

/** Standard uncertainty as curves carry it: the 95 % half-width over 1.96, so that value ± 1.96·u holds the truth in 95 of 100 cases whatever the shape. */
export function standard95(variance: number, uniform: number): number {
  return halfWidth95(variance, uniform) / Z95;
}
