/** Adds the squared magnitudes of two real signals' bins 0…⌊L/2⌋: the parts of their common transform Z that are even and odd under k → −k. */
export function addPairPower(Z: Float64Array, intoFirst: Float64Array, intoSecond: Float64Array): void {
  const length = Z.length / 2;
  const top = length / 2;
  if (intoFirst.length !== top + 1 || intoSecond.length !== top + 1) unreachable();
  for (let k = 0; k <= top; k++) {
    const p = 2 * k;
    const q = k === 0 ? 0 : 2 * (length - k);
    const re = unchecked(Z[p]);
    const im = unchecked(Z[p + 1]);
    const reBack = unchecked(Z[q]);
    const imBack = unchecked(Z[q + 1]);
    const evenRe = re + reBack;
    const oddIm = im - imBack;
    const evenIm = im + imBack;
    const oddRe = reBack - re;
    unchecked((intoFirst[k] += (evenRe * evenRe + oddIm * oddIm) / 4));
    unchecked((intoSecond[k] += (evenIm * evenIm + oddRe * oddRe) / 4));
  }
}
