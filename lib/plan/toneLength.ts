import type { Decibels } from "../bench/units.ts";
import { Z95 } from "../judge/coverage.ts";

/** Parameters of the sine fit that the residual loses. */
const FITTED = 4;
/** Ten harmonics, DC and a frequency error take 22 parameters; below some sixty readings little noise is left to judge them by (METHODS 2). */
const FEWEST = 64;
const DB_PER_NEPER = 20 / Math.LN10;

/**
 * Readings that bound the effective number of bits: a residual rms of M readings scatters by 1/√(2(M − 4)) of itself, and ENOB by that over ln 2.
 * @param halfWidth  wanted 95 % half-width, bits
 * Source: standard deviation of a sample standard deviation, JCGM 100:2008, E.4.3; CHECKS 9.
 * @example readingsForBits(1.959964 * 0.03194) // about 1024
 */
export function readingsForBits(halfWidth: number): number {
  requireWidth(halfWidth, "readingsForBits");
  return Math.ceil(FITTED + (Z95 / (halfWidth * Math.LN2)) ** 2 / 2);
}

/** Readings that bound SINAD or SNR, dB. @example readingsForDecibels(1.959964 * 0.192) // about 1024 */
export function readingsForDecibels(halfWidth: Decibels): number {
  return readingsForBits(halfWidth / (DB_PER_NEPER * Math.LN2));
}

/** Readings that bound a standard deviation relative to itself (noise of a steady capture). @example readingsForSpread(0.1) // 194 */
export function readingsForSpread(relative: number): number {
  requireWidth(relative, "readingsForSpread");
  return Math.ceil(1 + (Z95 / relative) ** 2 / 2);
}

/**
 * Readings that bound the total harmonic distortion where it stands at `thd`, with noise at `snr`: each of the nine harmonics' two amplitudes scatters by √(2/M) of the noise, which
 * adds to the distortion's power and beats with it. x being a component's noise power over the distortion's, the power scatters by √(2x + 9x²) of itself.
 * @param thd        dBc, negative
 * @param snr        dB
 * @param halfWidth  wanted 95 % half-width, dB
 * Source: variance of the squared amplitudes of a linear least-squares fit in white noise (Kay, "Fundamentals of Statistical Signal Processing", 1993).
 */
export function readingsForThd(thd: Decibels, snr: Decibels, halfWidth: Decibels): number {
  return readingsForHarmonics(thd, snr, halfWidth, 9);
}

/** As readingsForThd, for the largest line alone (SFDR). */
export function readingsForLine(level: Decibels, snr: Decibels, halfWidth: Decibels): number {
  return readingsForHarmonics(level, snr, halfWidth, 1);
}

function readingsForHarmonics(level: Decibels, snr: Decibels, halfWidth: Decibels, lines: number): number {
  requireWidth(halfWidth, "readingsForThd");
  // Half-width in dB of a small relative scatter of a power.
  const relative = halfWidth / ((Z95 * 10) / Math.LN10);
  const share = (Math.sqrt(1 + lines * relative * relative) - 1) / lines;
  const noiseOverDistortion = 10 ** ((-snr - level) / 10);
  return Math.max(FEWEST, Math.ceil((2 * noiseOverDistortion) / share));
}

function requireWidth(width: number, name: string): void {
  if (!(width > 0 && width < Number.POSITIVE_INFINITY))
    throw new RangeError(`${name}: the half-width must be positive and finite; got ${width}`);
}
