import { chiSquareQuantile } from "../signal/distributions.ts";
import { logGamma } from "../signal/logGamma.ts";

/** Kurtosis of the exponential power distribution ∝ exp(−|x/α|^β): 6 for β = 1 (Laplace), 3 for β = 2 (normal), 1.8 for β → ∞ (uniform). */
function kurtosisOf(beta: number): number {
  return Math.exp(logGamma(5 / beta) + logGamma(1 / beta) - 2 * logGamma(3 / beta));
}

const MOST_PEAKED = 0.6;
const FLATTEST = 20;

function betaOf(kurtosis: number): number {
  let low = MOST_PEAKED;
  let high = FLATTEST;
  if (kurtosis >= kurtosisOf(low)) return low;
  if (kurtosis <= kurtosisOf(high)) return high;
  for (let i = 0; i < 40; i++) {
    const middle = Math.sqrt(low * high);
    if (kurtosisOf(middle) > kurtosis) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}

const TAIL_POINTS = 48;

/**
 * One tail of a spread of true values, known by its variance and kurtosis: from flat (a converter whose codes come in a few widths) over normal to peaked (a
 * few wide codes among good ones).
 * @param variance  of the values about their middle
 * @param kurtosis  fourth moment over squared variance; 1.8…about 12 can be followed
 * @param least     smallest share that will be asked for
 * @returns distance from the middle that the share p of the tail exceeds, p in least…1
 * Source: exponential power distribution (Subbotin 1923; Box and Tiao 1973), from memory; moments checked in the test.
 */
export function tailOf(variance: number, kurtosis: number, least: number): (p: number) => number {
  const beta = betaOf(kurtosis);
  const alpha = Math.sqrt(variance) * Math.exp((logGamma(1 / beta) - logGamma(3 / beta)) / 2);
  const reach = Math.log(least);
  const table = Float64Array.from({ length: TAIL_POINTS + 1 }, (_, i) => {
    const p = Math.exp((reach * i) / TAIL_POINTS);
    // |x/α|^β is gamma distributed with shape 1/β, half a chi-square with 2/β degrees of freedom.
    return p >= 1 ? 0 : alpha * (chiSquareQuantile(1 - p, 2 / beta) / 2) ** (1 / beta);
  });
  return (p) => {
    const place = Math.min(TAIL_POINTS, Math.max(0, (TAIL_POINTS * Math.log(p)) / reach));
    const i = Math.min(TAIL_POINTS - 1, Math.floor(place));
    return table[i]! + (place - i) * (table[i + 1]! - table[i]!);
  };
}
