import { kernels } from "../kernels/kernels.generated.js";
import { chirpZ } from "./chirpZ.ts";
import { fftInterleaved, isPowerOfTwo } from "./powerOfTwoFft.ts";
import type { Window } from "./window.ts";

/** Power of two signals in the same segments, bins 0…⌊L/2⌋, scaled so that a sine of amplitude A on a bin reads A²/2. */
export interface PairSpectrum {
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/**
 * Power spectra of two real signals at once, each with its own window, averaged over segments: one complex transform a segment, the first
 * signal in its real part,
 * the second in its imaginary part.
 * @param packed  both signals' readings of the segment that begins at `start`, windowed: the first signal's n-th at 2n, the second's at 2n + 1
 * @param starts  where segments begin
 * @param length  L, any
 * Source: Welch, "The use of fast Fourier transform for the estimation of power spectra", IEEE Trans. Audio Electroacoust. 15(2), 1967.
 */
export function pairSpectrum(
  packed: (start: number) => Float64Array,
  starts: readonly number[],
  length: number,
  windows: readonly [Window, Window],
): PairSpectrum {
  const top = Math.floor(length / 2);
  let sums: PairSpectrum = { first: new Float64Array(top + 1), second: new Float64Array(top + 1) };
  for (const start of starts) {
    const pair = packed(start);
    sums = kernels.addPairPower(sums, isPowerOfTwo(length) ? fftInterleaved(pair) : chirpZ(pair));
  }
  const scaled = (sum: Float64Array, window: Window): Float64Array =>
    sum.map((power, k) => {
      // A sine has half its amplitude in each of two bins; DC and half a cycle a reading have only one.
      const sides = k === 0 || 2 * k === length ? 1 : 2;
      return (sides * power) / (length * window.gain) ** 2 / starts.length;
    });
  return { first: scaled(sums.first, windows[0]), second: scaled(sums.second, windows[1]) };
}

/**
 * Where segments of a record begin: as many as asked for, evenly spread, overlapping by half at most.
 * @param readings  M ≥ length
 */
export function segmentStarts(readings: number, length: number, most: number): number[] {
  const count = Math.max(1, Math.min(most, 2 * Math.floor(readings / length) - 1));
  if (count === 1) return [0];
  return Array.from({ length: count }, (_, i) => Math.round((i * (readings - length)) / (count - 1)));
}
