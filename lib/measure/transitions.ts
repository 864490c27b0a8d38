import type { Lsb } from "../bench/units.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { countsBelow } from "../signal/codeHistogram.ts";
import type { SweepNoise } from "./transitionsNoise.ts";
import type { SweepHalf } from "./transitionsPhases.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/**
 * Transition levels that a sweep determined, T[first] … T[first + inputs.length − 1], with the two kinds of error each has. Inputs in LSB above
 * the bottom of the range.
 */
export interface Transitions {
  readonly first: number;
  /** Every step-th transition was located: element i is T[first + i·step]. */
  readonly step: number;
  readonly inputs: Float64Array;
  /** Standard uncertainty from noise; errors of neighbours are correlated, see noiseCorrelation. */
  readonly noise: Float64Array;
  /** ± half of the gap between readings that T fell into, as far as noise has not dithered it away: uniform, independent from T to T. */
  readonly gap: Float64Array;
  /** Readings per LSB of input. */
  readonly density: Float64Array;
  /** Noise of one reading. */
  readonly sigma: Lsb;
  readonly readings: number;
}

/**
 * Correlation of the noise errors of two transitions that lie `distance` apart: the same readings decide both while they are closer than the noise.
 * Source: METHODS 1.
 */
export const noiseCorrelation: (distance: Lsb, sigma: Lsb) => number = kernels.noiseCorrelation;

/**
 * Transition levels from how many readings came below each code, and where on the sweep that many readings lie.
 *
 * T̂[k] is the input with CH[k−1] readings under it: half-way between two readings' inputs. Unlike C − A·cos(π·CH/S) it needs neither whole periods nor even
 * phases, because it asks where this record's readings were. Noise near the ends of the sweep is taken out (freedOfNoise).
 * Variance: σ·g/√π from noise, g the mean gap there; and the gap that T fell into, uniform, damped by exp(−2(πσ/g)²) where noise dithers it.
 * @param step  locate every step-th transition only
 * @returns null when fewer than two transitions were reached
 * Source: IEEE Std 1241-2010 (histogram test); variance: METHODS 1.
 */
export function locateTransitions(
  { grid, histogram }: SweepHalf,
  waveform: Waveform,
  noise: SweepNoise,
  step = 1,
): Transitions | null {
  const { sigma, standard } = noise;
  const located = kernels.locateTransitions(grid, countsBelow(histogram), waveform, sigma, standard, step);
  return located.inputs.length < 2 ? null : { ...located, step, sigma, readings: grid.readings };
}

/** The same transitions with their noise errors enlarged, where the record shows that white noise is not the whole of it. */
export function withNoiseTimes(tr: Transitions, factor: number): Transitions {
  return { ...tr, noise: tr.noise.map((u) => u * factor) };
}
