import { tQuantile } from "../signal/distributions.ts";

/** The readings of a visit that may be averaged. */
export interface Settled {
  readonly first: number;
  readonly last: number;
  /** Left out after the change of level. */
  readonly settling: number;
  /** false: still moving in the second half of the visit, or at its end. */
  readonly isSettled: boolean;
}

/** Scatter of codes about a straight line of their own, which a slow approach to the final value leaves alone. */
export interface Scatter {
  /** LSB²; 0 where there is nothing to judge by. */
  readonly variance: number;
  readonly dof: number;
  /** By what correlated neighbours widen the variance of a mean, ≥ 1. */
  readonly inflation: number;
}

/** Line and residuals of codes first…last. */
function lineOf(codes: Int32Array, first: number, last: number) {
  const count = last - first + 1;
  let sum = 0;
  let cross = 0;
  const middle = (first + last) / 2;
  for (let n = first; n <= last; n++) {
    sum += codes[n]!;
    cross += codes[n]! * (n - middle);
  }
  const times = (count * (count * count - 1)) / 12;
  const mean = sum / count;
  const slope = count > 2 ? cross / times : 0;
  let squares = 0;
  let together = 0;
  let before = 0;
  for (let n = first; n <= last; n++) {
    const e = codes[n]! - mean - slope * (n - middle);
    squares += e * e;
    if (n > first) together += e * before;
    before = e;
  }
  return { mean, slope, times, squares, together, count };
}

/** Where a visit of so many readings is judged: its last quarter, at least three readings. */
const tailLength = (readings: number): number => Math.max(3, readings >> 2);

/** Readings of a visit's second half that its middle value is taken from; a long visit is sampled. */
const SAMPLED = 501;

/**
 * The last reading that still belongs to the level: the next one may have come early where a reading was lost. Judged by the median of the second half,
 * which a few strangers do not move; at most a quarter is given up.
 */
function ownEnd(codes: Int32Array, first: number, last: number): number {
  const half = first + ((last - first + 1) >> 1);
  const stride = Math.max(1, Math.floor((last - half + 1) / SAMPLED));
  const sample: number[] = [];
  for (let n = half; n <= last; n += stride) sample.push(codes[n]!);
  const middleOf = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;
  const median = middleOf(sample);
  const spread = 1.4826 * middleOf(sample.map((c) => Math.abs(c - median)));
  const least = last - ((last - first + 1) >> 2);
  let end = last;
  while (end > least && Math.abs(codes[end]! - median) > 8 * spread + 2) end--;
  return end;
}

/**
 * Scatter of the ends of all visits, pooled.
 * @param visits  first and last reading of each
 */
export function tailScatter(codes: Int32Array, visits: readonly (readonly [number, number])[]): Scatter {
  let squares = 0;
  let together = 0;
  let pairs = 0;
  let dof = 0;
  let tails = 0;
  for (const [first, last] of visits) {
    const readings = last - first + 1;
    if (readings < 6) continue;
    const end = ownEnd(codes, first, last);
    const tail = lineOf(codes, end - tailLength(readings) + 1, end);
    squares += tail.squares;
    together += tail.together;
    pairs += tail.count - 1;
    dof += tail.count - 2;
    tails++;
  }
  if (dof === 0 || squares === 0) return { variance: 0, dof, inflation: 1 };
  const variance = squares / dof;
  const length = (pairs + tails) / tails;
  // Taking a line out of each tail pulls the correlation of neighbours down by about two parts in its length.
  const rho = together / pairs / variance + 2 / length;
  const bounded = Math.min(0.95, rho);
  return { variance, dof, inflation: bounded > 2.5 / Math.sqrt(pairs) ? (1 + bounded) / (1 - bounded) : 1 };
}

/**
 * Where the codes of a visit have settled. Short runs from the beginning are compared with the last quarter; the run that no longer stands out
 * ends the transient, and as much again is left out, so that what remains of an exponential is its square. At least the first reading goes: it may have been
 * taken while the level changed. A visit whose last quarter still slopes has not settled.
 * @param scatter  of the ends of all visits
 */
export function settledPart(codes: Int32Array, first: number, last: number, scatter: Scatter): Settled {
  const readings = last - first + 1;
  const least = readings >= 3 ? 1 : 0;
  if (readings < 6) return { first: first + least, last, settling: least, isSettled: true };
  const end = ownEnd(codes, first, last);
  const tail = lineOf(codes, end - tailLength(readings) + 1, end);
  // Half a count more than seen, so that a level without noise does not turn every flicker into a transient.
  const variance = Math.max(scatter.variance, (tail.squares + 0.5) / Math.max(1, tail.count - 2));
  // With the scatter pooled over the log, four standard deviations stay below one false start in a hundred visits.
  const far = scatter.dof > 20 ? 4 : tQuantile(0.9995, Math.max(1, tail.count - 2));
  const isSloping = Math.abs(tail.slope) > far * Math.sqrt((variance * scatter.inflation) / tail.times);
  const run = Math.max(1, Math.floor(readings / 40));
  const threshold = far * Math.sqrt(variance * (1 / run + 1 / tail.count));
  const standsOut = (at: number): boolean => {
    let sum = 0;
    for (let n = at; n < at + run; n++) sum += codes[n]!;
    return Math.abs(sum / run - tail.mean) > threshold;
  };
  const half = first + (readings >> 1);
  let start = first;
  // Two quiet runs in a row: a ringing level crosses its final value many times.
  while (start <= half && (standsOut(start) || standsOut(start + run))) start += run;
  const settling = Math.max(least, Math.min(2 * (start - first), Math.floor(0.7 * readings)));
  return {
    first: Math.min(end, first + settling),
    last: end,
    settling,
    isSettled: !isSloping && start <= half && end - first + 1 - settling >= readings / 4,
  };
}
