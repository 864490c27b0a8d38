import type { Lsb } from "../bench/units.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import type { Transitions } from "./transitions.ts";
import type { Sweep } from "./transitionsSweep.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** T_rising − T_falling over the transitions that both directions reached, a delay taken out. */
export interface DirectionDifference {
  readonly first: number;
  /** LSB; positive where the converter switches later on the way up. */
  readonly difference: Float64Array;
  readonly standard: Float64Array;
  /** By how much the noise must be multiplied for the uncertainties to explain the difference; 1 where they do. */
  readonly noiseFactor: number;
}

/**
 * Difference of the transition levels found on the two slopes of a periodic stimulus.
 * The phase is fitted, so that a delay between source and converter cannot be told from a shift of the fit: it moves T_rising − T_falling in proportion to the
 * input's rate of change, ∝ sin θ of a sine, a constant of a triangle. That part is estimated and taken out; of a sine a constant hysteresis stays visible.
 * @returns null with fewer than four transitions in common
 */
export function directionDifference(
  rising: Transitions,
  falling: Transitions,
  waveform: Waveform,
  { kind, delayFree = false }: Pick<Sweep, "kind" | "delayFree">,
): DirectionDifference | null {
  const first = Math.max(rising.first, falling.first);
  const last = Math.min(rising.first + rising.inputs.length, falling.first + falling.inputs.length) - 1;
  const count = last - first + 1;
  if (count < 4) return null;
  const difference = new Float64Array(count);
  const standard = new Float64Array(count);
  const rate = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const r = first + i - rising.first;
    const f = first + i - falling.first;
    difference[i] = rising.inputs[r]! - falling.inputs[f]!;
    standard[i] = Math.sqrt(
      rising.noise[r]! ** 2 + falling.noise[f]! ** 2 + (rising.gap[r]! ** 2 + falling.gap[f]! ** 2) / 3,
    );
    const middle: Lsb = (rising.inputs[r]! + falling.inputs[f]!) / 2;
    rate[i] = waveform.slope(waveform.below(middle));
  }
  const delay = delayFree ? 0 : delayOf(difference, standard, rate, kind === "sine");
  let square = 0;
  for (let i = 0; i < count; i++) {
    difference[i] = difference[i]! - delay * rate[i]!;
    square += (difference[i]! / standard[i]!) ** 2;
  }
  // Neighbours share their noise, so that fewer than `count` are independent; only a clear excess counts.
  const independent = count / (1 + 4 * Math.max(rising.sigma, 0.25));
  const excess = square / count;
  return {
    first,
    difference,
    standard,
    noiseFactor: independent > 8 && excess > 1 + 4 * Math.sqrt(2 / independent) ? Math.sqrt(excess) : 1,
  };
}

/** Weighted least squares of difference on rate, beside a constant where the two can be told apart (a sine). */
function delayOf(difference: Float64Array, standard: Float64Array, rate: Float64Array, sine: boolean): number {
  const p = sine ? 2 : 1;
  const H = new Float64Array(p * p);
  const g = new Float64Array(p);
  for (let i = 0; i < difference.length; i++) {
    const w = 1 / standard[i]! ** 2;
    const row = [rate[i]!, 1];
    for (let a = 0; a < p; a++) {
      g[a]! += w * row[a]! * difference[i]!;
      for (let b = 0; b < p; b++) H[a * p + b]! += w * row[a]! * row[b]!;
    }
  }
  return symmetricSolve(H, g)?.x[0] ?? 0;
}
