import type { Lsb } from "../bench/units.ts";
import { fitLine } from "../signal/linearFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { correlatedCount } from "./staticLineErrors.ts";
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
  { kind, delayFree = false }: Pick<Sweep, "kind" | "delayFree">,
): DirectionDifference | null {
  const first = Math.max(rising.first, falling.first);
  const { step } = rising;
  const end = ({ first: from, inputs }: Transitions): number => from + inputs.length * step;
  const count = (Math.min(end(rising), end(falling)) - first) / step;
  if (count < 4) return null;
  const difference = new Float64Array(count);
  const standard = new Float64Array(count);
  const rate = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const r = i + (first - rising.first) / step;
    const f = i + (first - falling.first) / step;
    difference[i] = rising.inputs[r]! - falling.inputs[f]!;
    standard[i] = Math.sqrt(
      rising.noise[r]! ** 2 + falling.noise[f]! ** 2 + (rising.gap[r]! ** 2 + falling.gap[f]! ** 2) / 3,
    );
    const middle: Lsb = (rising.inputs[r]! + falling.inputs[f]!) / 2;
    rate[i] = waveform.slope(waveform.below(middle));
  }
  const correlated = correlatedCount(count, rising.sigma / step);
  const { delay, doubt } = delayFree
    ? { delay: 0, doubt: 0 }
    : delayOf(difference, standard, rate, kind === "sine", correlated);
  const factor = noiseFactor(
    difference.map((d, i) => d - delay * rate[i]!),
    standard,
    correlated,
  );
  for (let i = 0; i < count; i++) {
    difference[i] = difference[i]! - delay * rate[i]!;
    standard[i] = Math.hypot(standard[i]!, doubt * rate[i]!);
  }
  return { first, step, difference, standard, noiseFactor: factor };
}

const SEGMENTS = 8;

/**
 * Compares the scatter of the difference about its own course (a straight line in each eighth of the range: hysteresis is smooth) with what the uncertainties
 * say. Neighbours share their noise, so that fewer codes than there are count; only a clear excess is taken.
 */
function noiseFactor(difference: Float64Array, standard: Float64Array, correlated: number): number {
  const count = difference.length;
  const independent = count / Math.max(2, correlated);
  if (independent < 4 * SEGMENTS) return 1;
  let square = 0;
  for (let s = 0; s < SEGMENTS; s++) {
    const from = Math.floor((s * count) / SEGMENTS);
    const to = Math.floor(((s + 1) * count) / SEGMENTS);
    const index = Float64Array.from({ length: to - from }, (_, i) => i);
    const line = fitLine(index, difference.subarray(from, to));
    for (let i = from; i < to; i++)
      square += ((difference[i]! - line.intercept - line.slope * (i - from)) / standard[i]!) ** 2;
  }
  const excess = square / (count - (2 * SEGMENTS * count) / independent);
  return excess > 1 + 4 * Math.sqrt(2 / independent) ? Math.sqrt(excess) : 1;
}

/** A constant difference is believed from here on, in its standard uncertainties. */
const BELIEVED = 3;

/**
 * Weighted least squares of the difference on the rate, beside a constant where the two can be told apart (a sine).
 * Without a constant that stands out, the fitted phase has taken up all delay there is, and taking out more would only add noise.
 * @returns the delay, and its standard uncertainty
 */
function delayOf(
  difference: Float64Array,
  standard: Float64Array,
  rate: Float64Array,
  sine: boolean,
  correlated: number,
): { delay: number; doubt: number } {
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
  const solved = symmetricSolve(H, g);
  if (solved === null) return { delay: 0, doubt: 0 };
  const { x, inverse } = solved;
  if (sine && Math.abs(x[1]!) < BELIEVED * Math.sqrt(inverse[3]! * correlated)) return { delay: 0, doubt: 0 };
  return { delay: x[0]!, doubt: Math.sqrt(inverse[0]! * correlated) };
}
