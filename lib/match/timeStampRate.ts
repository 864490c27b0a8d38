import type { Hertz, Ratio, Seconds } from "../bench/units.ts";
import type { TimeStamps } from "../capture/log.ts";

/** The time from one reading to the next, as the log's stamps have it. */
export interface StampedRate {
  readonly period: Seconds;
  readonly rate: Hertz;
  /** About 95 % half-width of the period, relative: what the stamps' resolution and scatter leave open. The clock behind them is not known here. */
  readonly limit: Ratio;
  /** Stamps used. */
  readonly stamps: number;
}

/**
 * The period of a log's time stamps, lost readings and pauses left out.
 * Where a stamp resolves one reading, the intervals near their median count; where many readings share a stamp (milliseconds on a fast capture),
 * only the whole span says something.
 * @returns null with fewer than two distinct stamps
 */
export function timeStampRate(time: TimeStamps): StampedRate | null {
  const { seconds, resolution } = time;
  let first = -1;
  let last = -1;
  let stamps = 0;
  for (let n = 0; n < seconds.length; n++) {
    if (!Number.isFinite(seconds[n]!)) continue;
    if (first < 0) first = n;
    last = n;
    stamps++;
  }
  if (stamps < 2) return null;
  const span = seconds[last]! - seconds[first]!;
  const whole = span / (last - first);
  if (!(whole > 0)) return null;
  const typical = medianInterval(seconds);
  if (typical === null || typical < 4 * resolution)
    return {
      period: whole,
      rate: 1 / whole,
      limit: Math.min(1, resolution / span),
      stamps,
    };
  // Between 3/4 and 5/4 of the usual interval nothing was lost; resolution may add or take one step.
  const near = 0.25 * typical + resolution;
  let sum = 0;
  let squares = 0;
  let count = 0;
  let stretches = 0;
  let previous = Number.NaN;
  let inside = false;
  for (let n = 0; n < seconds.length; n++) {
    const interval = seconds[n]! - previous;
    previous = seconds[n]!;
    if (Math.abs(interval - typical) <= near) {
      sum += interval;
      squares += (interval - typical) ** 2;
      count++;
      if (!inside) stretches++;
      inside = true;
    } else inside = false;
  }
  const period = sum / count;
  // Inside a stretch the roundings of neighbouring intervals cancel: each stretch leaves at most one step of the stamps.
  const rounding = resolution * Math.sqrt(stretches);
  // So does jitter within a stretch; but intervals cut off for being long or short leave a stretch open at both ends.
  const variance = Math.max(0, squares / count - (period - typical) ** 2 - resolution ** 2 / 6);
  const scatter = 2 * Math.sqrt(2 * stretches * variance);
  return { period, rate: 1 / period, limit: Math.min(1, (rounding + scatter) / sum), stamps };
}

/** Median of the intervals between neighbouring readings' stamps, from at most some 10 000 of them; null where fewer than one exists. */
function medianInterval(seconds: Float64Array): Seconds | null {
  const stride = Math.max(1, Math.floor(seconds.length / 10_000));
  const intervals: number[] = [];
  for (let n = 1; n < seconds.length; n += stride) {
    const interval = seconds[n]! - seconds[n - 1]!;
    if (Number.isFinite(interval)) intervals.push(interval);
  }
  if (intervals.length === 0) return null;
  intervals.sort((a, b) => a - b);
  return intervals[intervals.length >> 1]!;
}
