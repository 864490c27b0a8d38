import { tQuantile } from "../signal/distributions.ts";

/** The readings of a visit that may be averaged. */
export interface Settled {
  readonly first: number;
  readonly last: number;
  /** Left out after the change of level. */
  readonly settling: number;
  /** false: still moving in the second half of the visit. */
  readonly isSettled: boolean;
}

/** Sum of squares and mean of codes first…last. */
function spread(codes: Int32Array, first: number, last: number): { mean: number; squares: number; count: number } {
  const count = last - first + 1;
  let sum = 0;
  for (let n = first; n <= last; n++) sum += codes[n]!;
  const mean = sum / count;
  let squares = 0;
  for (let n = first; n <= last; n++) squares += (codes[n]! - mean) ** 2;
  return { mean, squares, count };
}

/**
 * Where the codes of a visit have settled. Short runs from the beginning are compared with the last quarter; the run that no longer stands out
 * ends the transient, and as much again is left out, so that what remains of an exponential is its square. At least the first reading goes: it may have been
 * taken while the level changed.
 * @param floor  variance of codes to be expected at least, LSB²
 */
export function settledPart(codes: Int32Array, first: number, last: number, floor: number): Settled {
  const readings = last - first + 1;
  const least = readings >= 3 ? 1 : 0;
  if (readings < 6) return { first: first + least, last, settling: least, isSettled: true };
  const tail = spread(codes, last - Math.max(3, readings >> 2) + 1, last);
  // Half a count more than seen, so that a level without noise does not turn every flicker into a transient.
  const variance = Math.max(floor, (tail.squares + 0.5) / (tail.count - 1));
  const run = Math.max(1, Math.floor(readings / 40));
  // The scatter is the pooled one in all but the shortest logs; four standard deviations then stay below one false start in a hundred visits.
  const far = floor > 0 ? 4 : tQuantile(0.9995, tail.count - 1);
  const threshold = far * Math.sqrt(variance * (1 / run + 1 / tail.count));
  const standsOut = (at: number): boolean => Math.abs(spread(codes, at, at + run - 1).mean - tail.mean) > threshold;
  const half = first + (readings >> 1);
  let start = first;
  // Two quiet runs in a row: a ringing level crosses its final value many times.
  while (start <= half && (standsOut(start) || standsOut(start + run))) start += run;
  const transient = start - first;
  const settling = Math.max(least, Math.min(2 * transient, Math.floor(0.7 * readings)));
  // The next level may have come a little early where a reading was lost.
  let end = last;
  const apart = 6 * Math.sqrt(variance) + 1.5;
  while (end > half && Math.abs(codes[end]! - tail.mean) > apart) end--;
  return {
    first: Math.min(end, first + settling),
    last: end,
    settling,
    isSettled: start <= half && end - first + 1 - settling >= readings / 4,
  };
}
