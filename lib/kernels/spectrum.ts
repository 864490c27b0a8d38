/** Two real signals as one complex one, each with its window: the first in the real parts, the second in the imaginary ones. */
export function windowedPair(
  first: Float64Array,
  second: Float64Array,
  firstWindow: Float64Array,
  secondWindow: Float64Array,
): Float64Array {
  const packed = new Float64Array(2 * first.length);
  for (let n = 0; n < first.length; n++) {
    packed[2 * n] = first[n] * firstWindow[n];
    packed[2 * n + 1] = second[n] * secondWindow[n];
  }
  return packed;
}

export class PairPower {
  first: Float64Array = new Float64Array(0);
  second: Float64Array = new Float64Array(0);
}

/** Adds the squared magnitudes of two real signals' bins 0…⌊L/2⌋: the parts of their common transform that are even and odd under k → −k. */
export function addPairPower(power: PairPower, Z: Float64Array): PairPower {
  const length = Z.length / 2;
  const first = power.first;
  const second = power.second;
  for (let k = 0; k < first.length; k++) {
    const p = 2 * k;
    const q = 2 * ((length - k) % length);
    const evenRe = Z[p] + Z[q];
    const oddIm = Z[p + 1] - Z[q + 1];
    const evenIm = Z[p + 1] + Z[q + 1];
    const oddRe = Z[q] - Z[p];
    first[k] += (evenRe * evenRe + oddIm * oddIm) / 4;
    second[k] += (evenIm * evenIm + oddRe * oddRe) / 4;
  }
  return power;
}
