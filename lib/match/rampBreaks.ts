import type { CaptureRecord } from "../capture/record.ts";
import { normalQuantile } from "../signal/distributions.ts";
import { median } from "../signal/median.ts";
import { averages } from "./averages.ts";
import { FALSE_ALARM } from "./context.ts";
import { median5, robustDeviation } from "./robust.ts";

/** What firmware did before it logged: a mean of several conversions bends near a rail long before it reaches it, and a sum steps by several codes. */
export interface Burst {
  readonly readings: number;
  readonly stretch: number;
}

/** What the bench file says of it. */
export function burstOf(record: CaptureRecord): Burst {
  const { averaging } = record.spec.converter;
  return averaging == null
    ? { readings: 1, stretch: 1 }
    : { readings: averaging.readings, stretch: averaging.readings / 2 ** averaging.shift };
}

/** The medians of five blocks on both sides of a place must not share a block. */
const REACH = 3;

/** A place where a ramp's codes leave out a piece of it, or go back. */
export interface RampBreak {
  /** First reading after the break, good to `within`. */
  readonly at: number;
  readonly within: number;
  /** Codes skipped (positive) or gone back over (negative), in the direction of the ramp. */
  readonly codes: number;
  /** The same as readings. */
  readonly readings: number;
}

/**
 * Codes that a converter of ordinary linearity may skip at once with a sound record: a missing code or two in a row (a wide code holds the ramp back, it skips none).
 * More than this, and noise, is a break; less cannot be told from INL.
 */
const LINEARITY_ALLOWANCE = 1.6;
/** How sure a step must be before it is called a break. */
export interface Certainty {
  /** Codes that a converter of ordinary linearity may skip. */
  readonly allowance: number;
  /** Chance of a false alarm over the whole ramp. */
  readonly chance: number;
  /** Blocks over which the level before and after a place is averaged. */
  readonly widths: readonly number[];
}

const BREAK: Certainty = { allowance: LINEARITY_ALLOWANCE, chance: FALSE_ALARM, widths: [1, 4, 16] };
/**
 * A step that noise does not explain, but narrow or missing codes would: what is measured from the ramp must allow for either. One clean ramp in twenty shows one (14 of 250), and is
 * measured a little less well for it.
 */
export const SUSPECTED: Certainty = { allowance: 0.15, chance: 0.02, widths: [4, 16, 64] };

/** A converter's own curve never runs backwards; this is for single-code errors between the means compared. */
const BACKWARD_ALLOWANCE = 2.5;

/**
 * Breaks in a ramp (or one pass of a triangle) between readings first and last: means of a few blocks before and after, the ramp's own advance taken off.
 * Threshold: the allowance for linearity plus the normal quantile of FALSE_ALARM over all places, in units of the record's own spread.
 */
export function rampBreaks(
  codes: Int32Array,
  first: number,
  last: number,
  top: number,
  burst: Burst,
  certainty: Certainty = BREAK,
): RampBreak[] {
  // Rails are flat and no part of the ramp, and where noise still touches one the mean is bent.
  let from = first;
  let to = last;
  const middle = Math.floor((first + last) / 2);
  const margin = burst.readings > 1 ? 5 * Math.sqrt(burst.readings) * noiseOf(codes) : 0;
  for (let n = first; n <= last; n++) {
    if (codes[n]! > margin && codes[n]! < top - margin) continue;
    if (n < middle) from = n + 1;
    else {
      to = n - 1;
      break;
    }
  }
  // Flat ends inside the range (a front end that saturates, fewer bits than declared) are no part of it either.
  const flat = 2 + 4 * noiseOf(codes);
  if (to - from >= 64)
    [from, to] = [flatUntil(codes, from, 1, middle, flat) + 1, flatUntil(codes, to, -1, middle, flat) - 1];
  const readings = to - from + 1;
  if (readings < 64) return [];
  const advance = slopeOf(codes, from, to);
  const direction = Math.sign(advance);
  const perReading = Math.abs(advance);
  if (!(perReading > 0)) return [];
  // Blocks of at most a code's width, so that a break of a few codes stands out, and at most 16384 of them.
  const length = Math.max(
    1,
    Math.ceil(readings / 16_384),
    Math.min(Math.floor(1 / perReading), Math.floor(readings / 64)),
  );
  const count = Math.floor(readings / length);
  const raw = averages(codes, from, length, count);
  for (let b = 0; b < count; b++) raw[b] = direction * raw[b]! - perReading * length * b;
  // A single upset reading is no break: it does not outlive the median of five blocks, which leaves a step where it is.
  const level = raw.map((_, b) =>
    b < 2 || b > count - 3 ? raw[b]! : median5(raw[b - 2]!, raw[b - 1]!, raw[b]!, raw[b + 1]!, raw[b + 2]!),
  );
  const found: RampBreak[] = [];
  for (const w of certainty.widths) {
    if (count < 8 * w + 4 * REACH) break;
    const prefix = new Float64Array(count + 1);
    for (let b = 0; b < count; b++) prefix[b + 1] = prefix[b]! + level[b]!;
    const steps = new Float64Array(count).fill(Number.NaN);
    for (let b = w + REACH; b + w + REACH <= count; b++)
      steps[b] = (prefix[b + REACH + w]! - prefix[b + REACH]! - (prefix[b - REACH]! - prefix[b - REACH - w]!)) / w;
    const typical = median(steps);
    const spread = Math.max(robustDeviation(steps, typical), 0.3 / Math.sqrt(w * length));
    const threshold = -normalQuantile(certainty.chance / (2 * count)) * spread;
    for (let b = w + REACH; b + w + REACH <= count; b++) {
      const step = steps[b]! - typical;
      const allowed = (step > 0 ? certainty.allowance : BACKWARD_ALLOWANCE) * Math.max(1, burst.stretch) + threshold;
      if (Math.abs(step) <= allowed) continue;
      // The largest of its neighbourhood stands for the break.
      let peak = b;
      while (b + 1 + w + REACH <= count && Math.abs(steps[b + 1]! - typical) > 0.5 * allowed) {
        b++;
        if (Math.abs(steps[b]! - typical) > Math.abs(steps[peak]! - typical)) peak = b;
      }
      const codesSkipped = steps[peak]! - typical;
      const at = from + peak * length + handover(codes, from + peak * length, REACH * length, direction);
      if (found.some((f) => Math.abs(f.at - at) <= (2 * w + 2 + REACH) * length)) continue;
      found.push({
        at,
        within: Math.max(1, length - 1),
        codes: codesSkipped,
        readings: Math.round(codesSkipped / perReading),
      });
    }
  }
  return found.sort((a, b) => a.at - b.at);
}

/** The last reading, going inwards from an end, that still stands within `flat` codes of the end's first five. */
function flatUntil(codes: Int32Array, end: number, way: 1 | -1, middle: number, flat: number): number {
  const at = (i: number): number => codes[end + way * i]!;
  const level = median5(at(0), at(1), at(2), at(3), at(4));
  let last = end;
  let beyond = 0;
  for (let n = end; n !== middle && beyond < 5; n += way) {
    if (Math.abs(codes[n]! - level) <= flat) {
      last = n;
      beyond = 0;
    } else beyond++;
  }
  return last;
}

/** Codes a reading, from the medians of the record's first and last quarters' halves; a break moves it little. */
function slopeOf(codes: Int32Array, first: number, last: number): number {
  const pieces = 32;
  const size = Math.floor((last - first + 1) / pieces);
  const means = averages(codes, first, size, pieces);
  const slopes = new Float64Array(pieces - 1);
  for (let p = 1; p < pieces; p++) slopes[p - 1] = (means[p]! - means[p - 1]!) / size;
  return median(slopes);
}

/** Inside one block and its neighbours, the reading before which the largest jump lies; counted from the block's first reading. */
function handover(codes: Int32Array, start: number, length: number, direction: number): number {
  let best = 0;
  let size = 0;
  for (let i = Math.max(1 - start, -length); i < 2 * length && start + i < codes.length; i++) {
    const jump = Math.abs(direction * (codes[start + i]! - codes[start + i - 1]!));
    if (jump > size) {
      size = jump;
      best = i;
    }
  }
  return best;
}

/** Noise of single readings, from second differences. */
function noiseOf(codes: Int32Array): number {
  const stride = Math.max(1, Math.floor(codes.length / 20_000));
  const bends = new Float64Array(Math.max(0, Math.ceil((codes.length - 2) / stride)));
  for (let i = 0, n = 2; n < codes.length; n += stride) bends[i++] = codes[n]! - 2 * codes[n - 1]! + codes[n - 2]!;
  return Math.max(0.3, robustDeviation(bends, 0) / Math.sqrt(6));
}
