import { normalQuantile } from "../signal/distributions.ts";
import { median } from "../signal/median.ts";
import { FALSE_ALARM } from "./context.ts";
import { robustDeviation } from "./robust.ts";

/** A place where a triangle's phase jumps. */
export interface TrianglePhaseJump {
  /** First reading after it. */
  readonly at: number;
  readonly within: number;
  /** Readings missing, less than a period's. */
  readonly missing: number;
}

/** Periods and readings a period from which windows of one period tell a jump. */
const LEAST_PERIODS = 5;
const LEAST_PERIOD = 8;
/** Delays tried over a period, windows a period, readings looked at in a window. */
const DELAYS = 64;
const WINDOWS = 4;
const LOOKED_AT = 512;
/** Windows whose own scatter is known although one jump is among them. */
const ENOUGH = 24;
/** What a jump must exceed whatever the noise, readings: one lost reading makes one. */
const LEAST = 0.5;
/** A window that fits worse than this share of its amplitude holds the jump itself. */
const WORST_FIT = 0.35;

interface Window {
  /** Delay of the window's triangle, periods; rms it leaves over its amplitude. */
  readonly delay: number;
  readonly rms: number;
  readonly offset: number;
  readonly amplitude: number;
}

const shape = (x: number): number => {
  const turn = x - Math.floor(x);
  return turn < 0.5 ? 4 * turn - 1 : 3 - 4 * turn;
};
const wrap = (x: number): number => x - Math.round(x);

/**
 * Jumps of a triangle's phase, from windows of one period: the delay at which a triangle of free level and amplitude fits each best, against the window one period
 * later, where the converter's own curve has the same effect. The jump must exceed what noise gives with chance FALSE_ALARM over all windows, half a reading,
 * and be there still two periods apart. A loss of whole periods does not show.
 * @param frequency  cycles per reading, known to a tenth of a cycle over two periods
 */
export function trianglePhases(codes: Int32Array, top: number, frequency: number): TrianglePhaseJump[] {
  const period = 1 / frequency;
  const length = Math.round(period);
  if (!(period >= LEAST_PERIOD) || codes.length < LEAST_PERIODS * period) return [];
  const count = Math.floor((codes.length - length) / (period / WINDOWS)) + 1;
  const firstOf = (i: number): number => Math.min(codes.length - length, Math.round((i * period) / WINDOWS));
  const windows = Array.from({ length: count }, (_, i) => windowAt(codes, top, frequency, firstOf(i), length));
  const stepOf = (i: number, j: number): number => {
    const [a, b] = [windows[i], windows[j]];
    return a == null || b == null ? Number.NaN : wrap(b.delay - a.delay) * period;
  };
  const steps = windows.map((_, i) => stepOf(i, i + WINDOWS));
  const usual = median(steps.filter(Number.isFinite));
  const used = Math.min(length, LOOKED_AT);
  const rms = median(windows.filter((w) => w !== null).map((w) => w.rms));
  // A delay of one reading is 4·frequency of the amplitude.
  const standard = rms / (4 * frequency) / Math.sqrt(used);
  // Hum and drift move windows by more than white noise does; of enough windows their own scatter tells, of which a loss spoils eight.
  const scatter = count >= ENOUGH ? robustDeviation(steps.filter(Number.isFinite), usual) : 0;
  const quantile = -normalQuantile(FALSE_ALARM / (2 * count));
  const limit = Math.max(LEAST, quantile * Math.max(Math.SQRT2 * standard, scatter));
  const found: TrianglePhaseJump[] = [];
  for (let i = 0; i < steps.length; i++) {
    if (!(Math.abs(steps[i]! - usual) > limit)) continue;
    let best = i;
    let end = i;
    // Among the windows that hold the jump the pair on its two sides fits best.
    const worseOf = (k: number): number => Math.max(windows[k]!.rms, windows[k + WINDOWS]!.rms);
    for (let k = i; k < Math.min(steps.length, i + 2 * WINDOWS); k++) {
      if (!(Math.abs(steps[k]! - usual) > limit)) continue;
      end = k;
      if (worseOf(k) < worseOf(best)) best = k;
    }
    i = end;
    const [before, after] = [windows[best]!, windows[best + WINDOWS]!];
    if (Math.max(before.rms, after.rms) > Math.max(WORST_FIT * 0.3, 3 * rms)) continue;
    const jump = steps[best]! - usual;
    const far = stepOf(best - WINDOWS, best + WINDOWS);
    const further = stepOf(best, best + 2 * WINDOWS);
    const stays = [far, further].every(
      (step) =>
        !Number.isFinite(step) ||
        Math.abs(wrap((step - 2 * usual - jump) / period)) * period < Math.max(LEAST, 0.5 * Math.abs(jump)),
    );
    if (!stays) continue;
    const missing = Math.round(jump > 0 ? jump : jump + period);
    if (missing < 1) continue;
    const at = handover(codes, top, frequency, firstOf(best), firstOf(best + WINDOWS) + length, before, after);
    found.push({ at, within: Math.max(1, Math.round(limit)), missing });
  }
  return found;
}

/** The best triangle of one window; null where it shows too little of one. */
function windowAt(codes: Int32Array, top: number, frequency: number, first: number, length: number): Window | null {
  const stride = Math.max(1, Math.floor(length / LOOKED_AT));
  const places: number[] = [];
  let sumY = 0;
  let squareY = 0;
  for (let n = first; n < first + length; n += stride) {
    const y = codes[n]!;
    if (y <= 0 || y >= top) continue;
    places.push(n);
    sumY += y;
  }
  const used = places.length;
  if (used < 6) return null;
  const meanY = sumY / used;
  for (const n of places) squareY += (codes[n]! - meanY) ** 2;
  const laid = (delay: number): { left: number; slope: number; meanW: number } => {
    let sumW = 0;
    let squareW = 0;
    let cross = 0;
    for (const n of places) {
      const w = shape(frequency * n + delay);
      sumW += w;
      squareW += w * w;
      cross += w * (codes[n]! - meanY);
    }
    const spread = squareW - (sumW * sumW) / used;
    const slope = spread > 0 ? cross / spread : 0;
    return { left: slope > 0 ? squareY - slope * cross : Number.POSITIVE_INFINITY, slope, meanW: sumW / used };
  };
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < DELAYS; k++) {
    const { left } = laid(k / DELAYS);
    if (left < least) {
      least = left;
      best = k / DELAYS;
    }
  }
  // Golden section would do as well; the minimum is smooth, thirds of the step are enough.
  for (let size = 1 / DELAYS; size > 1e-5; size /= 2)
    for (const delay of [best - size / 2, best + size / 2]) {
      const { left } = laid(delay);
      if (left < least) {
        least = left;
        best = delay;
      }
    }
  const { left, slope, meanW } = laid(best);
  if (!(slope > 0)) return null;
  return {
    delay: best,
    rms: Math.sqrt(Math.max(1 / 12, left / used)) / slope,
    offset: meanY - slope * meanW,
    amplitude: slope,
  };
}

/** The reading at which the later triangle takes over from the earlier one. */
function handover(
  codes: Int32Array,
  top: number,
  frequency: number,
  first: number,
  last: number,
  before: Window,
  after: Window,
): number {
  const squared = (n: number, { offset, amplitude, delay }: Window): number =>
    (codes[n]! - Math.max(0, Math.min(top, offset + amplitude * shape(frequency * n + delay)))) ** 2;
  let sum = 0;
  let best = first;
  let least = 0;
  for (let n = first; n < Math.min(last, codes.length); n++) {
    sum += squared(n, before) - squared(n, after);
    if (sum < least) {
      least = sum;
      best = n + 1;
    }
  }
  return best;
}
