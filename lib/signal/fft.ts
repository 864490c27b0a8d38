import { kernels } from "../kernels/kernels.generated.js";
import { chirpZ } from "./chirpZ.ts";
import { fftInterleaved, isPowerOfTwo } from "./powerOfTwoFft.ts";

/** Bins of a discrete Fourier transform, X[k] = Σ x[n]·exp(−2πi·k·n/N), not scaled. */
export interface Bins {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * One-sided transform of real readings, any length.
 * @param x  N real values, N ≥ 1
 * @returns bins 0…⌊N/2⌋
 * @throws RangeError  x is empty
 * Source: definition; even powers of two by packing two real halves into one complex transform (Cooley and Tukey 1965; common practice),
 *   other lengths
 *   by the chirp-z transform (Bluestein, IEEE Trans. Audio Electroacoust. 18(4), 1970).
 * @example realFft([1, 0, 0, 0]).re // 1, 1, 1
 */
export function realFft(x: ArrayLike<number>): Bins {
  const N = x.length;
  if (N === 0) throw new RangeError("realFft: needs at least one reading; got none");
  const top = Math.floor(N / 2);
  if (N < 4 || !isPowerOfTwo(N)) {
    const complex = new Float64Array(2 * N);
    for (let n = 0; n < N; n++) complex[2 * n] = x[n]!;
    const all = isPowerOfTwo(N) ? fftInterleaved(complex) : chirpZ(complex);
    const re = new Float64Array(top + 1);
    const im = new Float64Array(top + 1);
    for (let k = 0; k <= top; k++) {
      re[k] = all[2 * k]!;
      im[k] = all[2 * k + 1]!;
    }
    return { re, im };
  }
  // Even readings in the real part, odd ones in the imaginary part.
  return kernels.realBins(fftInterleaved(x instanceof Float64Array ? x : Float64Array.from(x)));
}
