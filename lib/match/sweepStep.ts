import { median } from "../signal/median.ts";

/** Places from which the usual step is learnt. */
const ASKED = 20_000;
const NARROW = 32;
/** Least steps to learn from. */
const LEAST = 12;
/** What the quantiser alone leaves of a difference of two readings, codes rms: √(1/6). */
const QUANTISED = 0.41;
/** Deviations by which a step must exceed the scatter to show its direction. */
export const SHOWN = 3;

/** Codes strictly between which a sweep moves. */
export interface Moving {
  readonly floor: number;
  readonly ceiling: number;
}

/** What the means of neighbouring readings of a ramp or triangle differ by. */
export interface UsualStep {
  /** Codes from the middle of `width` readings to that of the next; a ramp's with its sign. */
  readonly step: number;
  readonly scatter: number;
}

/** The mean of `width` readings from n on less that of as many before. */
export const stepAt = (codes: Int32Array, n: number, width: number): number => {
  let sum = 0;
  for (let i = 0; i < width; i++) sum += codes[n + i]! - codes[n - 1 - i]!;
  return sum / width;
};

/** Whether all readings about n are inside the codes in which the sweep moves: it passes them in order, so that the outermost and the two inner ones tell. */
export function isMoving(codes: Int32Array, n: number, width: number, { floor, ceiling }: Moving): boolean {
  const inside = (y: number): boolean => y > floor && y < ceiling;
  return inside(codes[n]!) && inside(codes[n - 1]!) && inside(codes[n - width]!) && inside(codes[n + width - 1]!);
}

/** What the means of neighbouring readings usually differ by; null where too few readings move. A triangle whose direction noise hides has a usual step of zero. */
export function usualStep(codes: Int32Array, moving: Moving, width: number, isRamp: boolean): UsualStep | null {
  // Places nearer to each other than a quarter of a wide mean say nothing new, and there are as many readings to sum at each.
  const stride = Math.max(1, Math.floor(codes.length / ASKED), width > NARROW ? width >> 2 : 1);
  const seen: number[] = [];
  for (let n = width; n + width <= codes.length; n += stride)
    if (isMoving(codes, n, width, moving)) seen.push(stepAt(codes, n, width));
  if (seen.length < LEAST) return null;
  if (isRamp) return aboutMedian(seen, width);
  const folded = aboutMedian(seen.map(Math.abs), width);
  return folded.step < SHOWN * folded.scatter ? { step: 0, scatter: aboutMedian(seen, width).scatter } : folded;
}

function aboutMedian(seen: readonly number[], width: number): UsualStep {
  const step = median(seen);
  const away = Float64Array.from(seen, (x) => Math.abs(x - step)).sort();
  const inner = Math.ceil(0.6 * away.length);
  let squares = 0;
  for (let i = 0; i < inner; i++) squares += away[i]! ** 2;
  // The three fifths of a Gaussian nearest to its middle have 0.463 of its deviation; of few readings the scatter is not known well.
  const known = (Math.sqrt(squares / inner) / 0.463) * (1 + 1.5 / Math.sqrt(inner));
  return { step, scatter: Math.max(QUANTISED / Math.sqrt(width), known) };
}
