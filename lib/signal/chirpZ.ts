import { fftInterleaved, nextPowerOfTwo } from "./powerOfTwoFft.ts";

/**
 * Discrete Fourier transform of any length, as a convolution with a chirp.
 * @param data  interleaved [re0, im0, …], N complex values
 * @returns interleaved, N bins, not scaled; error about 1e-15·√N·|x|
 * Source: Bluestein, "A linear filtering approach to the computation of the discrete Fourier transform", IEEE Trans. Audio Electroacoust.
 *   18(4), 1970.
 */
export function chirpZ(data: Float64Array): Float64Array {
  const N = data.length / 2;
  const size = nextPowerOfTwo(2 * N - 1);
  // exp(−iπ·n²/N): n² is kept modulo 2N by its increments, so that the angle stays exact for any N.
  const cos = new Float64Array(N);
  const sin = new Float64Array(N);
  let square = 0;
  for (let n = 0; n < N; n++) {
    const angle = (Math.PI * square) / N;
    cos[n] = Math.cos(angle);
    sin[n] = Math.sin(angle);
    square = (square + 2 * n + 1) % (2 * N);
  }
  const a = new Float64Array(2 * size);
  const b = new Float64Array(2 * size);
  for (let n = 0; n < N; n++) {
    const x = data[2 * n]!;
    const y = data[2 * n + 1]!;
    a[2 * n] = x * cos[n]! + y * sin[n]!;
    a[2 * n + 1] = y * cos[n]! - x * sin[n]!;
    b[2 * n] = cos[n]!;
    b[2 * n + 1] = sin[n]!;
    if (n > 0) {
      b[2 * (size - n)] = cos[n]!;
      b[2 * (size - n) + 1] = sin[n]!;
    }
  }
  const A = fftInterleaved(a);
  const B = fftInterleaved(b);
  for (let k = 0; k < size; k++) {
    const re = A[2 * k]! * B[2 * k]! - A[2 * k + 1]! * B[2 * k + 1]!;
    A[2 * k + 1] = A[2 * k]! * B[2 * k + 1]! + A[2 * k + 1]! * B[2 * k]!;
    A[2 * k] = re;
  }
  const convolved = fftInterleaved(A, true);
  const out = new Float64Array(2 * N);
  for (let k = 0; k < N; k++) {
    const re = convolved[2 * k]!;
    const im = convolved[2 * k + 1]!;
    out[2 * k] = re * cos[k]! + im * sin[k]!;
    out[2 * k + 1] = im * cos[k]! - re * sin[k]!;
  }
  return out;
}
