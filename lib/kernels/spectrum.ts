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

/** Bins 0…N/2 of N real values. */
export class RealBins {
  re: Float64Array = new Float64Array(0);
  im: Float64Array = new Float64Array(0);
}

/** Takes the spectra of even and odd values apart by symmetry: Z is the transform of N/2 pairs of them, even ones as real parts and odd ones as imaginary. */
export function realBins(Z: Float64Array): RealBins {
  const N = Z.length;
  const half = N / 2;
  const re = new Float64Array(half + 1);
  const im = new Float64Array(half + 1);
  re[0] = Z[0] + Z[1];
  re[half] = Z[0] - Z[1];
  for (let k = 1; k < half; k++) {
    const a = 2 * k;
    const b = 2 * (half - k);
    const evenRe = (Z[a] + Z[b]) / 2;
    const evenIm = (Z[a + 1] - Z[b + 1]) / 2;
    const oddRe = (Z[a + 1] + Z[b + 1]) / 2;
    const oddIm = (Z[b] - Z[a]) / 2;
    const angle = (-2 * Math.PI * k) / N;
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    re[k] = evenRe + oddRe * c - oddIm * s;
    im[k] = evenIm + oddRe * s + oddIm * c;
  }
  return { re, im };
}
