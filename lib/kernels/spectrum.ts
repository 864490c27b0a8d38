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
