import { kernels } from "../kernels/kernels.generated.js";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";

/** Bins of a turn: a function of the phase changes so little within one that its value at the middle stands for it. */
const BINS = 256;

/** What a sine leaves of a record, gathered by the sine's phase. */
export interface PhaseCurve {
  /** Sum of the remainder in each bin of phase, codes; bin i of 256 holds phases from i/256 to (i + 1)/256 of a turn. */
  readonly sums: Float64Array;
  readonly counts: Float64Array;
  /** Sum of all squares, what scatters inside the bins included. */
  readonly squares: number;
  readonly readings: number;
}

/** Folds readings first…last (some 100 000 at most) about a fitted sine: one pass. Where the sine itself leaves the usable codes (near a rail), nothing is folded. */
export function phaseCurve(
  codes: Int32Array,
  fit: Pick<SineFit, "cyclesPerReading" | "phase" | "amplitude" | "offset">,
  first: number,
  last: number,
  { floor, ceiling }: UsableCodes,
): PhaseCurve {
  return kernels.phaseCurve(codes.subarray(first, last + 1), fit, first, floor, ceiling, BINS);
}

/** Least squares over the bins: coefficients, and what they explain of the squares. */
export interface Explained {
  readonly x: Float64Array;
  readonly squares: number;
}

/**
 * Least squares of a level, the sine itself, harmonics and other courses over the bins.
 * @param orders   first and last harmonic; null for none
 * @param courses  other functions of the phase at the middles of the bins, 256 values each
 * @returns null where they cannot be told apart
 */
export function explained(
  curve: PhaseCurve,
  orders: readonly [number, number] | null,
  courses: Float64Array = new Float64Array(0),
): Explained | null {
  const [from, to] = orders ?? [1, 0];
  return kernels.explained(curve, courses, from, to);
}
