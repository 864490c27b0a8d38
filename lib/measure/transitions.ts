import type { Lsb } from "../bench/units.ts";
import { countsBelow } from "../signal/codeHistogram.ts";
import { freedOfNoise } from "./transitionsEdge.ts";
import { neighbourhood, quantile, unevenness } from "./transitionsGrid.ts";
import { OVERSHOOT_0, overshoot, type SweepNoise } from "./transitionsNoise.ts";
import type { SweepHalf } from "./transitionsPhases.ts";
import { unevennessOf } from "./transitionsUneven.ts";
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
export function noiseCorrelation(distance: Lsb, sigma: Lsb): number {
  return sigma > 0 ? overshoot(Math.abs(distance) / (sigma * Math.SQRT2)) / OVERSHOOT_0 : distance === 0 ? 1 : 0;
}

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
  sine: boolean,
  step = 1,
): Transitions | null {
  const below = countsBelow(histogram);
  const top = histogram.counts.length - 1;
  const { sigma } = noise;
  const inputs = new Float64Array(top);
  const noises = new Float64Array(top);
  const gaps = new Float64Array(top);
  const densities = new Float64Array(top);
  // Uneven readings matter where they could move T by more than a fraction of what noise does; most at the waveform's steepest place.
  const steepest = waveform.slope(0.5);
  const stray = unevenness(grid, sigma / steepest);
  const freed =
    sigma > 0 && stray * stray * steepest > UNEVEN * sigma * grid.readings ? unevennessOf(grid, waveform, sigma) : null;
  let first = 0;
  let count = 0;
  let index = 0;
  for (let k = step; k <= top; k += step) {
    const m = below[k]!;
    if (!(m >= 1 && m <= grid.readings - 1)) {
      if (count > 0) break;
      continue;
    }
    const found = quantile(grid, m, index);
    index = found.index;
    const { position } = found;
    const raw = waveform.at(position);
    // Near the turning points of a sine the slope vanishes; the noise still reaches a finite share of the sweep.
    const slope = Math.max(waveform.slope(position), waveform.slope(reachInside(position)), 1e-9);
    const uneven = freed !== null && stray * stray * slope > UNEVEN * sigma * grid.readings ? freed(raw, m) : null;
    const corrected = uneven ?? freedOfNoise(waveform, raw, sigma, sine);
    if (corrected === null) {
      if (count > 0) break;
      continue;
    }
    const { density, gapSquare } = neighbourhood(grid, position, (2 * sigma) / slope);
    const gap = slope * Math.sqrt(gapSquare);
    const counting =
      corrected.perRootReading === null
        ? Math.sqrt((sigma * slope) / density / Math.sqrt(Math.PI))
        : corrected.perRootReading / Math.sqrt(uneven ? grid.readings : density);
    // What is not known of σ moves the correction, which grows as σ².
    const shift = uneven ? 0 : (2 * Math.abs(corrected.x - raw) * noise.standard) / Math.max(sigma, 1e-9);
    if (count === 0) first = k;
    inputs[count] = corrected.x;
    noises[count] = Math.hypot(counting, shift);
    gaps[count] = uneven ? 0 : (gap / 2) * Math.exp(-2 * ((Math.PI * sigma) / gap) ** 2);
    densities[count] = density / slope;
    count++;
  }
  if (count < 2) return null;
  return {
    first,
    step,
    inputs: inputs.slice(0, count),
    noise: noises.slice(0, count),
    gap: gaps.slice(0, count),
    density: densities.slice(0, count),
    sigma,
    readings: grid.readings,
  };
}

/** Squared stray of the count over its variance from noise, from where it is corrected: it would add a tenth to an uncertainty. */
const UNEVEN = 0.3;

const reachInside = (position: number): number => (position < 0.5 ? position + 1e-4 : position - 1e-4);

/** The same transitions with their noise errors enlarged, where the record shows that white noise is not the whole of it. */
export function withNoiseTimes(tr: Transitions, factor: number): Transitions {
  return { ...tr, noise: tr.noise.map((u) => u * factor) };
}
