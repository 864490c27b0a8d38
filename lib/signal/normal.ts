const SQRT_2PI = Math.sqrt(2 * Math.PI);

/** Density of the standard normal distribution at z. */
export function normalPdf(z: number): number {
  return Math.exp(-0.5 * z * z) / SQRT_2PI;
}

/**
 * Standard normal distribution function Φ(z): the share of a Gaussian that lies below z standard deviations. For the share above, pass −z.
 * Rational approximation below |z| = 7.07, continued fraction beyond; about 1e-15, relative in the lower tail better than 1e-12.
 * Source: Hart et al., "Computer Approximations", 1968, no. 5666; West, "Better approximations to cumulative normal functions", Wilmott, 2005.
 * @example normalCdf(1.4) // 0.919243
 */
export function normalCdf(z: number): number {
  const x = Math.abs(z);
  if (x > 38.5) return z > 0 ? 1 : 0;
  const e = Math.exp(-0.5 * x * x);
  let tail: number;
  if (x < 7.07106781186547) {
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
    // Laplace's continued fraction for Mills' ratio; forty levels are exact to double precision from here on.
    let ratio = x;
    for (let level = 40; level >= 1; level--) ratio = x + level / ratio;
    tail = e / (SQRT_2PI * ratio);
  }
  return z > 0 ? 1 - tail : tail;
}

// Wichura's AS 241 (PPND16): numerators and denominators, highest power first.
const CENTRE_TOP = [
  2509.0809287301226727, 33430.575583588128105, 67265.770927008700853, 45921.953931549871457, 13731.693765509461125,
  1971.5909503065514427, 133.14166789178437745, 3.387132872796366608,
];
const CENTRE_BOTTOM = [
  5226.495278852854561, 28729.085735721942674, 39307.89580009271061, 21213.794301586595867, 5394.1960214247511077,
  687.1870074920579083, 42.313330701600911252, 1,
];
const MIDDLE_TOP = [
  7.7454501427834140764e-4, 0.0227238449892691845833, 0.24178072517745061177, 1.27045825245236838258,
  3.64784832476320460504, 5.7694972214606914055, 4.6303378461565452959, 1.42343711074968357734,
];
const MIDDLE_BOTTOM = [
  1.05075007164441684324e-9, 5.475938084995344946e-4, 0.0151986665636164571966, 0.14810397642748007459,
  0.68976733498510000455, 1.6763848301838038494, 2.05319162663775882187, 1,
];
const TAIL_TOP = [
  2.01033439929228813265e-7, 2.71155556874348757815e-5, 0.0012426609473880784386, 0.026532189526576123093,
  0.29656057182850489123, 1.7848265399172913358, 5.4637849111641143699, 6.6579046435011037772,
];
const TAIL_BOTTOM = [
  2.04426310338993978564e-15, 1.4215117583164458887e-7, 1.8463183175100546818e-5, 7.868691311456132591e-4,
  0.0148753612908506148525, 0.13692988092273580531, 0.59983220655588793769, 1,
];

function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (const c of coefficients) sum = sum * x + c;
  return sum;
}

/**
 * Quantile of the standard normal distribution: the z below which the share p lies; ±Infinity at p = 1 and p = 0. About 1e-15 relative.
 * @throws RangeError  p lies outside 0…1
 * Source: Wichura, "Algorithm AS 241: the percentage points of the normal distribution", Applied Statistics 37(3), 1988.
 * @example normalQuantile(0.975) // 1.959964
 */
export function normalQuantile(p: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`normalQuantile: p must lie in 0…1; got ${p}`);
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) {
    const r = 0.180625 - q * q;
    return (q * polynomial(CENTRE_TOP, r)) / polynomial(CENTRE_BOTTOM, r);
  }
  const share = q < 0 ? p : 1 - p;
  if (share === 0) return q < 0 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
  const r = Math.sqrt(-Math.log(share));
  const z =
    r <= 5
      ? polynomial(MIDDLE_TOP, r - 1.6) / polynomial(MIDDLE_BOTTOM, r - 1.6)
      : polynomial(TAIL_TOP, r - 5) / polynomial(TAIL_BOTTOM, r - 5);
  return q < 0 ? -z : z;
}
