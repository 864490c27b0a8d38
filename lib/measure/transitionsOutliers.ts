import { fitLine } from "../signal/linearFit.ts";
import { median } from "../signal/median.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** Which codes can be readings at a position of the sweep; others are errors of the link or the logic ("sparkle"), not of the transitions. */
export interface CodeBounds {
  readonly low: Float64Array;
  readonly high: Float64Array;
}

const CELLS = 4096;
/** Readings further from their own course than this many of its scatter (and SLACK codes) are no noise. */
const FAR = 10;
const SLACK = 3;
/** When more than this share lies outside, it is the course that is wrong. */
const MOST = 0.1;

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
  const inputs = positions.map((p) => waveform.at(p));
  let used = Array.from(inputs.keys()).filter((i) => codes[i]! > 0 && codes[i]! < topCode);
  let line = { slope: 1, intercept: 0 };
  let scatter = 0;
  for (let round = 0; round < 3; round++) {
    if (used.length < 32) return null;
    const x = Float64Array.from(used, (i) => inputs[i]!);
    const y = Float64Array.from(used, (i) => codes[i]!);
    if (!x.some((v) => v !== x[0])) return null;
    line = fitLine(x, y);
    const apart = x.map((v, i) => Math.abs(y[i]! - line.intercept - line.slope * v));
    scatter = 1.4826 * median(apart);
    const kept = used.filter((_, i) => apart[i]! <= 6 * scatter + 1);
    if (kept.length === used.length) break;
    used = kept;
  }
  const bound = FAR * scatter + SLACK;
  const expected = (position: number): number =>
    Math.min(topCode, Math.max(0, line.intercept + line.slope * waveform.at(position)));
  // Beyond a rail is as good as at it: codes outside the range are another finding's matter.
  const atRail = (code: number): number =>
    code <= 0 ? Number.NEGATIVE_INFINITY : code >= topCode ? Number.POSITIVE_INFINITY : code;
  let outside = 0;
  for (let i = 0; i < codes.length; i++)
    if (Math.abs(Math.min(topCode, Math.max(0, codes[i]!)) - expected(positions[i]!)) > bound) outside++;
  if (!(line.slope > 0) || outside > MOST * codes.length) return null;
  return {
    low: Float64Array.from({ length: CELLS + 1 }, (_, c) => atRail(expected(c / CELLS) - bound)),
    high: Float64Array.from({ length: CELLS + 1 }, (_, c) => atRail(expected(Math.min(1, (c + 1) / CELLS)) + bound)),
  };
}

/** Whether a code can be a reading at this position, 0…1. */
export function isPossible({ low, high }: CodeBounds, position: number, code: number): boolean {
  const cell = Math.floor(position * CELLS);
  return code >= low[cell]! && code <= high[cell]!;
}
