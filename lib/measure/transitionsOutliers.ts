import { kernels } from "../kernels/kernels.generated.js";
import type { Waveform } from "./transitionsWaveform.ts";

/** Which codes can be readings at a position of the sweep; others are errors of the link or the logic ("sparkle"), not of the transitions. */
export interface CodeBounds {
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/**
 * Bounds of the codes along a sweep, from a sample of it: a straight line of code on input, fitted twice so that wrong readings do not bend it, and its median scatter.
 * A single reading with a wrong high bit would otherwise move thousands of transitions by one reading.
 * @param positions, codes  a sample of readings, in any order
 * @returns null when there are too few to say, or when the codes do not follow the sweep closely enough
 */
export function codeBounds(
  positions: Float64Array,
  codes: Int32Array,
  topCode: number,
  waveform: Waveform,
): CodeBounds | null {
  return kernels.codeBounds(positions, codes, topCode, waveform);
}
