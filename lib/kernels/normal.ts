const SQRT_2PI: f64 = sqrt<f64>(2 * Math.PI);

/** Density of the standard normal distribution at z. */
export function normalPdf(z: f64): f64 {
  return Math.exp(-0.5 * z * z) / SQRT_2PI;
}

/** Standard normal distribution function Φ(z): see lib/signal/normal.ts. */
export function normalCdf(z: f64): f64 {
  const x = abs<f64>(z);
  if (x > 38.5) return z > 0 ? 1 : 0;
  const e = Math.exp(-0.5 * x * x);
  let tail: f64;
  if (x < 3.5) {
    const top =
      ((((((3.52624965998911e-2 * x + 0.700383064443688) * x + 6.37396220353165) * x + 33.912866078383) * x +
        112.079291497871) *
        x +
        221.213596169931) *
        x +
        220.206867912376) *
      e;
    const bottom =
      ((((((8.83883476483184e-2 * x + 1.75566716318264) * x + 16.064177579207) * x + 86.7807322029461) * x +
        296.564248779674) *
        x +
        637.333633378831) *
        x +
        793.826512519948) *
        x +
      440.413735824752;
    tail = top / bottom;
  } else {
    // Laplace's continued fraction for Mills' ratio; forty levels reach double precision from here on.
    let ratio = x;
    for (let level = 40; level >= 1; level--) ratio = x + level / ratio;
    tail = e / (SQRT_2PI * ratio);
  }
  return z > 0 ? 1 - tail : tail;
}
