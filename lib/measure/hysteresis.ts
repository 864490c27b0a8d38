import { kernels } from "../kernels/kernels.generated.js";
import type { Transitions } from "./transitions.ts";
import type { Sweep } from "./transitionsSweep.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** T_rising − T_falling over the transitions that both directions reached, a delay taken out. */
export interface DirectionDifference {
  readonly first: number;
  /** Element i belongs to T[first + i·step]. */
  readonly step: number;
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
 * @param rising, falling  located with the same step
 * @returns null with fewer than four transitions in common
 */
export function directionDifference(
  rising: Transitions,
  falling: Transitions,
  waveform: Waveform,
  { delayFree = false }: Pick<Sweep, "delayFree">,
): DirectionDifference | null {
  const first = Math.max(rising.first, falling.first);
  const { step } = rising;
  const end = ({ first: from, inputs }: Transitions): number => from + inputs.length * step;
  const count = (Math.min(end(rising), end(falling)) - first) / step;
  if (count < 4) return null;
  const compared = kernels.directionDifference(
    rising,
    falling,
    (first - rising.first) / step,
    (first - falling.first) / step,
    count,
    step,
    waveform,
    delayFree,
  );
  return { first, step, ...compared };
}
