import type { Lsb } from "../bench/units.ts";
import { normalQuantile } from "../signal/normal.ts";

/**
 * Readings of a sine at random phases that bound one code's DNL.
 * @param bits        N
 * @param tolerance   β, ± LSB on one code's width
 * @param confidence  0.95 by default; for one code at a time, so of a thousand codes some fifty still lie outside
 * @returns M = π·2^(N−1)·z²/β², rounded up
 * Source: Doernberg, Lee and Hodges, "Full-speed testing of A/D converters", IEEE JSSC SC-19(6), 1984.
 * @example sineHistogramReadings(8, 0.1, 0.99) // 266806
 */
export function sineHistogramReadings(bits: number, tolerance: Lsb, confidence = 0.95): number {
  const z = quantileOf(confidence, "sineHistogramReadings");
  requireTolerance(tolerance, "sineHistogramReadings");
  return Math.ceil((Math.PI * 2 ** (bits - 1) * z * z) / (tolerance * tolerance));
}

/**
 * Readings of a ramp or triangle that bound one code's DNL: K readings a code scatter by 1/√K of its width.
 * @example rampHistogramReadings(8, 0.196, 0.95) // 100 a code, 25 600
 */
export function rampHistogramReadings(bits: number, tolerance: Lsb, confidence = 0.95): number {
  const z = quantileOf(confidence, "rampHistogramReadings");
  requireTolerance(tolerance, "rampHistogramReadings");
  // A hair below, so that z²/β² that is whole but for rounding is not counted one up.
  return Math.round(2 ** bits) * Math.ceil((z / tolerance) ** 2 - 1e-9);
}

/**
 * Readings of a coherent sine, J and M coprime, that bound one transition: M equally spaced phases put the readings g = 2πA/M apart at mid-scale, where they lie
 * thinnest. Var T = σg/√π + (g²/12)·exp(−(2πσ/g)²) a slope. Both slopes together halve the noise's part but not the grid's, which may fall alike on both; a code's
 * width takes two transitions.
 * @param amplitude  A, LSB
 * @param noise      σ at the input, LSB
 * Source: order statistics of equally spaced points with Gaussian noise; checked by simulation in test/plan/histogramLength.test.ts.
 */
export function coherentHistogramReadings(amplitude: Lsb, noise: Lsb, tolerance: Lsb, confidence = 0.95): number {
  const z = quantileOf(confidence, "coherentHistogramReadings");
  requireTolerance(tolerance, "coherentHistogramReadings");
  const halfWidth = (readings: number): number => {
    const gap = (2 * Math.PI * amplitude) / readings;
    const grid = ((gap * gap) / 12) * Math.exp(-((2 * Math.PI * (noise / gap)) ** 2));
    return z * Math.sqrt((noise * gap) / Math.sqrt(Math.PI) + 2 * grid);
  };
  let few = 2;
  let many = 4;
  while (halfWidth(many) > tolerance && many < 2 ** 50) many *= 2;
  while (many - few > 1) {
    const middle = Math.floor((few + many) / 2);
    if (halfWidth(middle) > tolerance) few = middle;
    else many = middle;
  }
  return many;
}

/**
 * How far a sine must pass the ends of the range so that noise does not thin out the end codes.
 * @param noise      σ at the input, LSB
 * @param tolerance  β, LSB
 * @returns max(3σ, σ·√(3/(2β))), LSB beyond each end
 * Source: Blair, "Histogram measurement of ADC nonlinearities using sine waves", IEEE T-IM 43(3), 1994 (from memory; the formula is not confirmed against the paper).
 * @example histogramOverdrive(1, 0.01) // 12.247
 */
export function histogramOverdrive(noise: Lsb, tolerance: Lsb): Lsb {
  requireTolerance(tolerance, "histogramOverdrive");
  return noise * Math.max(3, Math.sqrt(3 / (2 * tolerance)));
}

/** Readings at each level of a staircase whose mean is to be known to ± tolerance: (zσ/β)², σ with quantisation. */
export function levelReadings(codeRms: Lsb, tolerance: Lsb, confidence = 0.95): number {
  const z = quantileOf(confidence, "levelReadings");
  requireTolerance(tolerance, "levelReadings");
  return Math.max(2, Math.ceil(((z * codeRms) / tolerance) ** 2));
}

function quantileOf(confidence: number, name: string): number {
  if (!(confidence > 0 && confidence < 1))
    throw new RangeError(`${name}: confidence must lie between 0 and 1; got ${confidence}`);
  return normalQuantile((1 + confidence) / 2);
}

function requireTolerance(tolerance: Lsb, name: string): void {
  if (!(tolerance > 0 && tolerance < Number.POSITIVE_INFINITY))
    throw new RangeError(`${name}: tolerance must be positive and finite, in LSB; got ${tolerance}`);
}
