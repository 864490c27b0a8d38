import { kernels } from "../kernels/kernels.generated.js";
import { normalQuantile } from "../signal/distributions.ts";
import { median } from "../signal/median.ts";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";
import { FALSE_ALARM } from "./context.ts";
import { isMoving, type Moving, NARROW, runningSums, SHOWN, stepAt, type UsualStep, usualStep } from "./sweepStep.ts";

/** A place where a ramp or triangle does not go on from where it was. */
export interface SweepJump {
  /** First reading after it, good to `within`. */
  readonly at: number;
  readonly within: number;
  /** Codes jumped ahead of the sweep's own advance, positive in its direction. */
  readonly codes: number;
  /** The same as readings, a whole number that is not zero: missing where positive, gone back over where negative. */
  readonly readings: number;
  /** About a triangle's apex, or where noise hides its direction: at least so many readings. */
  readonly atApex: boolean;
}

/** Readings before and after a place whose means are compared; of a long record only the first. */
const WIDTHS = [1, 2, 4, 8, 16, 32];
const LONG = 1 << 18;
/** Least readings. */
const SHORTEST = 24;
/**
 * Codes that a converter of ordinary linearity skips at once with a sound record, a missing code or two in a row; and goes back over, where only errors of single codes between the means
 * compared enter. Less cannot be told from INL.
 */
export const LINEARITY_ALLOWANCE = { ahead: 1.6, back: 2.5 };
/** How sure a jump must be: codes that it must exceed beside what noise does, and the chance of a false alarm over the whole record. */
export interface JumpCertainty {
  readonly ahead: number;
  readonly back: number;
  readonly chance: number;
}
const SURE: JumpCertainty = { ...LINEARITY_ALLOWANCE, chance: FALSE_ALARM };
/** Scatter, readings, from which means tell how many readings a jump is. */
const TELLS_READINGS = 0.2;
/** Share of one reading's advance that a jump must reach: less is no reading. */
const LEAST_SHARE = 0.6;

/**
 * Jumps of a ramp or triangle: the mean of some readings after a place less that of as many before. All such differences of a sweep are alike, apart from those about a triangle's
 * apexes, which are smaller; so what is larger than usual is a jump, and so is one against the sweep's own direction on both sides. For each width the usual difference is the
 * median, and its scatter (noise, and the converter's own curve over that many readings) comes from the three fifths nearest to it.
 * Threshold: the allowance for linearity plus the normal quantile of FALSE_ALARM over all places and widths. A single upset reading makes no jump: medians of three
 * readings on both sides must show half of it.
 * Cheap: one pass a width, and one width only from 262 144 readings on.
 * @param moving  codes strictly between which the sweep moves
 * @param isRamp  a ramp has one direction; a triangle's is known only where it moves by more than noise
 * @param lsb     codes to an LSB of the converter, where firmware sums conversions
 */
export function sweepJumps(
  codes: Int32Array,
  moving: Moving,
  isRamp: boolean,
  lsb: number,
  certainty: JumpCertainty = SURE,
): SweepJump[] {
  if (codes.length < SHORTEST) return [];
  const advance = advanceOf(codes, moving, isRamp);
  if (!(advance > 0)) return [];
  const found: SweepJump[] = [];
  for (const width of codes.length > LONG ? WIDTHS.slice(0, 1) : WIDTHS) {
    if (codes.length < Math.max(SHORTEST, 12 * width)) break;
    const usual = usualStep(codes, moving, width, isRamp);
    if (usual === null) continue;
    for (const jump of jumpsOf(codes, moving, width, usual, advance, isRamp, lsb, certainty))
      if (!found.some((f) => Math.abs(f.at - jump.at) <= f.within + jump.within + 2 * width)) found.push(jump);
  }
  return found.sort((a, b) => a.at - b.at);
}

/** Standard deviations that noise exceeds at any place and width with the chance allowed for. */
function deviations(codes: Int32Array, { chance }: JumpCertainty): number {
  return -normalQuantile(chance / (2 * codes.length * WIDTHS.length));
}

/** The smallest jump of a ramp that would be called one, codes; infinite where none would. */
export function leastJump(codes: Int32Array, moving: Moving, lsb: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (const width of WIDTHS) {
    const usual = codes.length < Math.max(SHORTEST, 12 * width) ? null : usualStep(codes, moving, width, true);
    if (usual !== null) least = Math.min(least, SURE.ahead * lsb + deviations(codes, SURE) * usual.scatter);
  }
  return least;
}

/** Deviations of one difference of means by which the advance is plain: the median of thousands knows it to a thousandth. */
const PLAIN = 30;

/** Codes a reading, from the means that show it best: noise hides it in short ones, apexes and the converter's curve in long ones. */
export function advanceOf(codes: Int32Array, moving: Moving, isRamp: boolean): number {
  let best = { shown: SHOWN, advance: Number.NaN };
  let running: Float64Array | null = null;
  for (let width = 1; width <= codes.length / 12; width *= 2) {
    if (width > NARROW) running ??= runningSums(codes);
    const usual = usualStep(codes, moving, width, isRamp, running);
    if (usual === null) continue;
    const shown = Math.abs(usual.step) / usual.scatter;
    if (shown > best.shown) best = { shown, advance: Math.abs(usual.step) / width };
    if (best.shown > PLAIN || (best.advance > 0 && shown < 0.5 * best.shown)) break;
  }
  return best.advance;
}

function jumpsOf(
  codes: Int32Array,
  moving: Moving,
  width: number,
  { step: usual, scatter }: UsualStep,
  advance: number,
  isRamp: boolean,
  lsb: number,
  certainty: JumpCertainty,
): SweepJump[] {
  if (isRamp && usual === 0) return [];
  const chance = deviations(codes, certainty) * scatter;
  const size = Math.abs(usual);
  const ahead = Math.max(LEAST_SHARE * advance, certainty.ahead * lsb + chance);
  const back = Math.max(LEAST_SHARE * advance, certainty.back * lsb + chance);
  const found: SweepJump[] = [];
  let best: { at: number; ahead: number; atApex: boolean } | null = null;
  const close = (): void => {
    if (best === null) return;
    const readings = Math.round(
      best.atApex ? best.ahead / advance : readingsAhead(codes, best.at, best.ahead, advance, width, scatter),
    );
    const within = width === 1 ? 0 : Math.ceil((2 * width * scatter) / Math.abs(best.ahead));
    if (readings !== 0 && isWhole(best.ahead / advance, scatter / advance))
      found.push({ at: best.at, within, codes: best.ahead, readings, atApex: best.atApex });
    best = null;
  };
  const sign = isRamp ? Math.sign(usual) : 0;
  const places = codes.length - 2 * width + 1;
  for (let from = 0; from < places; from += MOST_AT_ONCE) {
    const to = Math.min(places, from + MOST_AT_ONCE);
    const beyond = kernels.stepsBeyond(codes.subarray(from, to + 2 * width - 1), width, sign, size, ahead, back);
    for (let i = 0; i < beyond.at.length; i++) {
      const n = width + from + beyond.at[i]!;
      const step = beyond.steps[i]!;
      if (best !== null && n - 1 - best.at > 2 * width) close();
      if (isMoving(codes, n, width, moving)) {
        const direction = directionAt(codes, n, width, size);
        // About an apex there are two directions, and all that can be told is a step too large. One that goes back must go on again on both sides.
        const by =
          direction !== 0 ? step * direction - size : Math.max(0, (isRamp ? step * sign : Math.abs(step)) - size);
        if ((by > ahead || by < -back) && (best === null || Math.abs(by) > Math.abs(best.ahead)))
          if (lasts(codes, n, direction === 0 ? Math.sign(step) : direction, by, width, advance))
            best = { at: n, ahead: by, atApex: direction === 0 };
      }
      if (best !== null && n - best.at > 2 * width) close();
    }
  }
  close();
  return found;
}

/** How many readings a jump is, from means over as many readings as it takes to tell and the sweep stays straight. */
function readingsAhead(
  codes: Int32Array,
  at: number,
  ahead: number,
  advance: number,
  width: number,
  scatter: number,
): number {
  let told = ahead / advance;
  for (let wide = 2 * width; wide <= 64; wide *= 2) {
    // Of white noise the means' difference scatters by 1/√width.
    if ((scatter / advance) * Math.sqrt((2 * width) / wide) < TELLS_READINGS) break;
    const direction = directionAt(codes, at, wide, advance * wide);
    if (direction === 0) break;
    told = (direction * stepAt(codes, at, wide)) / advance - wide;
  }
  return told;
}

/** Of a steep sweep a jump is whole readings, give or take the noise: two stale readings near each other jump by less. */
function isWhole(readings: number, scatter: number): boolean {
  return Math.abs(readings - Math.round(readings)) <= 0.25 + 3 * scatter;
}

/** The sweep's direction at a place, from the readings on both sides; 0 where it stands still, they differ, or the record ends. */
function directionAt(codes: Int32Array, n: number, width: number, size: number): number {
  if (n < 2 * width || n + 2 * width > codes.length) return 0;
  const before = stepAt(codes, n - width, width);
  const after = stepAt(codes, n + width, width);
  return Math.abs(before) > 0.5 * size && Math.abs(after) > 0.5 * size && before * after > 0 ? Math.sign(after) : 0;
}

/** Whether medians before and after a place show half of a jump: one upset reading does not outlive them. */
function lasts(
  codes: Int32Array,
  at: number,
  direction: number,
  ahead: number,
  width: number,
  advance: number,
): boolean {
  const side = Math.max(3, width);
  if (at < side || at + side > codes.length) return false;
  const moved = direction * (median(codes.subarray(at, at + side)) - median(codes.subarray(at - side, at)));
  return (moved - side * advance) / ahead > 0.5;
}
