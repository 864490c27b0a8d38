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

// Wichura's AS 241 (PPND16): numerators and denominators, highest power first.
const CENTRE_TOP: StaticArray<f64> = [
  2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987, 13731.69376550946, 1971.5909503065513,
  133.14166789178438, 3.3871328727963665,
];
const CENTRE_BOTTOM: StaticArray<f64> = [
  5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597, 5394.196021424751, 687.1870074920579,
  42.31333070160091, 1,
];
const MIDDLE_TOP: StaticArray<f64> = [
  0.0007745450142783414, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684, 3.6478483247632045,
  5.769497221460691, 4.630337846156546, 1.4234371107496835,
];
const MIDDLE_BOTTOM: StaticArray<f64> = [
  1.0507500716444169e-9, 0.0005475938084995345, 0.015198666563616457, 0.14810397642748008, 0.6897673349851,
  1.6763848301838038, 2.053191626637759, 1,
];
const TAIL_TOP: StaticArray<f64> = [
  2.0103343992922881e-7, 2.7115555687434876e-5, 0.0012426609473880784, 0.026532189526576124, 0.29656057182850487,
  1.7848265399172913, 5.463784911164114, 6.657904643501103,
];
const TAIL_BOTTOM: StaticArray<f64> = [
  2.0442631033899397e-15, 1.421511758316446e-7, 1.8463183175100548e-5, 0.0007868691311456133, 0.014875361290850615,
  0.1369298809227358, 0.599832206555888, 1,
];

function polynomial(coefficients: StaticArray<f64>, x: f64): f64 {
  let sum: f64 = 0;
  for (let i = 0; i < coefficients.length; i++) sum = sum * x + coefficients[i];
  return sum;
}

/** Quantile of the standard normal distribution, p in 0…1: see lib/signal/normal.ts. */
export function normalQuantile(p: f64): f64 {
  const q = p - 0.5;
  if (abs<f64>(q) <= 0.425) {
    const r = 0.180625 - q * q;
    return (q * polynomial(CENTRE_TOP, r)) / polynomial(CENTRE_BOTTOM, r);
  }
  const share = q < 0 ? p : 1 - p;
  if (share === 0) return q < 0 ? -Infinity : Infinity;
  const r = sqrt<f64>(-Math.log(share));
  const z =
    r <= 5
      ? polynomial(MIDDLE_TOP, r - 1.6) / polynomial(MIDDLE_BOTTOM, r - 1.6)
      : polynomial(TAIL_TOP, r - 5) / polynomial(TAIL_BOTTOM, r - 5);
  return q < 0 ? -z : z;
}
