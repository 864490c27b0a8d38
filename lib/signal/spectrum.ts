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
 * @param pack    fills 2·L places with both signals' readings of the segment that begins at `start`, windowed: the first signal's n-th at 2n, the second's at 2n + 1
 * @param starts  where segments begin
 * @param length  L, any
 * Source: Welch, "The use of fast Fourier transform for the estimation of power spectra", IEEE Trans. Audio Electroacoust. 15(2), 1967.
 */
export function pairSpectrum(
  pack: (start: number, into: Float64Array) => void,
  starts: readonly number[],
  length: number,
  windows: readonly [Window, Window],
): PairSpectrum {
  const top = Math.floor(length / 2);
  const first = new Float64Array(top + 1);
  const second = new Float64Array(top + 1);
  // One room for all segments: memory that is touched for the first time takes longer than the transform.
  const pair = new Float64Array(2 * length);
  const room = new Float64Array(isPowerOfTwo(length) ? 2 * length : 0);
  for (const start of starts) {
    pack(start, pair);
    kernels.addPairPower(room.length > 0 ? fftInterleaved(pair, false, room) : chirpZ(pair), first, second);
  }
  const scaled = (sum: Float64Array, window: Window): Float64Array => {
    // A sine has half its amplitude in each of two bins; DC and half a cycle a reading have only one.
    const power = kernels.onLine(sum, 0, 2 / (length * window.gain) ** 2 / starts.length);
    power[0]! /= 2;
    if (length % 2 === 0) power[top]! /= 2;
    return power;
  };
  return { first: scaled(first, windows[0]), second: scaled(second, windows[1]) };
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
