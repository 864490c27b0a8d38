import { chiSquareQuantile } from "./incompleteGamma";
import { logGamma } from "./logGamma";

/** Kurtosis of the exponential power distribution ∝ exp(−|x/α|^β): 6 for β = 1 (Laplace), 3 for β = 2 (normal), 1.8 for β → ∞ (uniform). */
function kurtosisOf(beta: f64): f64 {
  return Math.exp(logGamma(5 / beta) + logGamma(1 / beta) - 2 * logGamma(3 / beta));
}

const MOST_PEAKED: f64 = 0.6;
const FLATTEST: f64 = 20;

function betaOf(kurtosis: f64): f64 {
  let low = MOST_PEAKED;
  let high = FLATTEST;
  if (kurtosis >= kurtosisOf(low)) return low;
  if (kurtosis <= kurtosisOf(high)) return high;
  for (let i = 0; i < 40; i++) {
    const middle = sqrt<f64>(low * high);
    if (kurtosisOf(middle) > kurtosis) low = middle;
    else high = middle;
  }
  return sqrt<f64>(low * high);
}

const TAIL_POINTS = 48;

/**
 * One tail of a spread of true values, known by its variance and kurtosis: from flat (a converter whose codes come in a few widths) over normal to peaked (a
 * few wide codes among good ones).
 * @param variance  of the values about their middle
 * @param kurtosis  fourth moment over squared variance; 1.8…about 12 can be followed
 * @param shares    shares of the tail, falling or rising, each in 0…1
 * @param least     the smallest of them
 * @returns distance from the middle that each share of the tail exceeds
 * Source: exponential power distribution (Subbotin 1923; Box and Tiao 1973), from memory; moments checked in the test.
 */
export function tailDistances(variance: f64, kurtosis: f64, shares: Float64Array, least: f64): Float64Array {
  const beta = betaOf(kurtosis);
  const alpha = sqrt<f64>(variance) * Math.exp((logGamma(1 / beta) - logGamma(3 / beta)) / 2);
  const reach = Math.log(least);
  const table = new Float64Array(TAIL_POINTS + 1);
  for (let i = 1; i <= TAIL_POINTS; i++) {
    const p = Math.exp((reach * i) / TAIL_POINTS);
    // |x/α|^β is gamma distributed with shape 1/β, half a chi-square with 2/β degrees of freedom.
    if (p < 1) table[i] = alpha * (chiSquareQuantile(1 - p, 2 / beta) / 2) ** (1 / beta);
  }
  const distances = new Float64Array(shares.length);
  for (let s = 0; s < shares.length; s++) {
    const place = min<f64>(TAIL_POINTS, max<f64>(0, (TAIL_POINTS * Math.log(unchecked(shares[s]))) / reach));
    const i = min<i32>(TAIL_POINTS - 1, <i32>place);
    const before = unchecked(table[i]);
    unchecked((distances[s] = before + (place - i) * (unchecked(table[i + 1]) - before)));
  }
  return distances;
}
