import { kernels } from "../kernels/kernels.generated.js";

/** Places from which the usual step is learnt. */
const ASKED = 20_000;
/** Widths up to which the readings of a mean are summed place by place. */
export const NARROW = 32;
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
export function isMoving(codes: Int32Array, n: number, width: number, moving: Moving): boolean {
  return (
    isInside(codes[n]!, moving) &&
    isInside(codes[n - 1]!, moving) &&
    isInside(codes[n - width]!, moving) &&
    isInside(codes[n + width - 1]!, moving)
  );
}

function isInside(code: number, { floor, ceiling }: Moving): boolean {
  return code > floor && code < ceiling;
}

/**
 * What the means of neighbouring readings usually differ by; null where too few readings move. A triangle whose direction noise hides has a usual step of zero.
 * @param running  runningSums of the codes, by which wide means are told sooner; null for none
 */
export function usualStep(
  codes: Int32Array,
  moving: Moving,
  width: number,
  isRamp: boolean,
  running: Float64Array | null = null,
): UsualStep | null {
  // Places nearer to each other than a quarter of a wide mean say nothing new.
  const stride = Math.max(1, Math.floor(codes.length / ASKED), width > NARROW ? width >> 2 : 1);
  const steps = new Float64Array(Math.max(0, Math.floor((codes.length - 2 * width) / stride) + 1));
  let count = 0;
  for (let n = width; n + width <= codes.length; n += stride) {
    if (!isMoving(codes, n, width, moving)) continue;
    steps[count++] =
      running === null || width <= NARROW
        ? stepAt(codes, n, width)
        : (sumBefore(codes, running, n + width) -
            2 * sumBefore(codes, running, n) +
            sumBefore(codes, running, n - width)) /
          width;
  }
  if (count < LEAST) return null;
  const seen = steps.subarray(0, count);
  if (isRamp) return aboutMiddle(seen, width, false);
  const folded = aboutMiddle(seen, width, true);
  return folded.step < SHOWN * folded.scatter ? { step: 0, scatter: aboutMiddle(seen, width, false).scatter } : folded;
}

/** Readings between running sums: a power of two. */
const EACH = 64;

/** Sums of all readings before the first, the 64th and so on: whole numbers, and so exact. */
export function runningSums(codes: Int32Array): Float64Array {
  const sums = new Float64Array(Math.floor(codes.length / EACH) + 1);
  for (let k = 1; k < sums.length; k++) {
    let sum = 0;
    for (let n = (k - 1) * EACH; n < k * EACH; n++) sum += codes[n]!;
    sums[k] = sums[k - 1]! + sum;
  }
  return sums;
}

function sumBefore(codes: Int32Array, running: Float64Array, end: number): number {
  const k = Math.floor(end / EACH);
  let sum = running[k]!;
  for (let n = k * EACH; n < end; n++) sum += codes[n]!;
  return sum;
}

function aboutMiddle(seen: Float64Array, width: number, isFolded: boolean): UsualStep {
  const { step, inner } = kernels.middleStep(seen, isFolded);
  // The three fifths of a Gaussian nearest to its middle have 0.463 of its deviation; of few readings the scatter is not known well.
  const known = (inner / 0.463) * (1 + 1.5 / Math.sqrt(Math.ceil(0.6 * seen.length)));
  return { step, scatter: Math.max(QUANTISED / Math.sqrt(width), known) };
}
