import type { Seconds } from "../bench/units.ts";

/** Stamps looked at, from the log's beginning. */
const LOOKED_AT = 8192;
/** Share of the intervals that must lie on two neighbouring ticks, and least intervals on the rarer one. */
const ON_TWO = 0.98;
const LEAST_ON_RARER = 3;
/** From a tick of this share of the shorter interval on, rare long intervals are lost readings rather than ticks. */
const COARSE = 0.4;
const LEAST_SHARE_COARSE = 0.1;
/** Ticks a reading from which a counter's power of two is believed although a late stamp now and then falls on a third tick. */
const FINE = 16;

/**
 * The step that a log's clock really takes, where it is coarser than the stamps' digits: microseconds that count in fours, a 32.768 kHz counter printed in microseconds.
 * An even clock read at whole ticks gives intervals of two neighbouring counts of ticks only, and stays within a tick of a straight line. Where stamps scatter besides,
 * the tick is the largest power of two that divides all intervals, a timer's prescaler.
 * @param seconds  one stamp a reading, NaN where there was none
 * @param digit    step of the stamps' last digit
 * @returns the tick, at least `digit`
 */
export function stampTick(seconds: Float64Array, digit: Seconds): Seconds {
  const intervals: number[] = [];
  for (let n = 1; n < Math.min(seconds.length, LOOKED_AT); n++) {
    const steps = Math.round((seconds[n]! - seconds[n - 1]!) / digit);
    if (steps >= 0) intervals.push(steps);
  }
  if (intervals.length < 16) return digit;
  const sorted = Float64Array.from(intervals).sort();
  const typical = sorted[sorted.length >> 1]!;
  const near = Array.from(sorted.filter((d) => d > 0.4 * typical && d < 2.1 * typical));
  const steps = sharedTicks(sorted, intervals) ?? twoTicks(near, intervals) ?? powerOfTwo(near, typical);
  return steps > 1 ? steps * digit : digit;
}

/**
 * The tick where readings share stamps: intervals are then none, one or two of it. Either many share, or a reading that comes a moment late leaves its stamp to the one before and shares it
 * with the next, so that there are as many of none as of two; a line that was printed twice leaves the stamps behind an even clock.
 */
function sharedTicks(sorted: Float64Array, intervals: readonly number[]): number | null {
  const none = sorted.findIndex((d) => d > 0);
  if (none < LEAST_ON_RARER) return null;
  const tick = sorted[none]!;
  const ones = sorted.filter((d) => Math.abs(d - tick) <= 1).length;
  const twos = sorted.filter((d) => Math.abs(d - 2 * tick) <= 1).length;
  if (tick < 1.5 || none + ones + twos < ON_TWO * sorted.length) return null;
  if (none < LEAST_SHARE_COARSE * sorted.length && Math.abs(none - twos) > 0.3 * none + 1) return null;
  const period = ((ones + 2 * twos) * tick) / (none + ones + twos);
  return staysNear(intervals, 2 * tick + 1, period, tick) ? tick : null;
}

/** The distance of two neighbouring counts of ticks, in digits; null where the intervals are others, or too few of one kind. */
function twoTicks(sorted: readonly number[], intervals: readonly number[]): number | null {
  // A tick of a fraction of a digit too many is rounded both ways: a group is two digits wide at most.
  const groups: { from: number; to: number; sum: number; count: number }[] = [];
  for (const d of sorted) {
    const group = groups[groups.length - 1];
    if (group !== undefined && d - group.to <= 1 && d - group.from <= 2) {
      group.to = d;
      group.sum += d;
      group.count++;
    } else groups.push({ from: d, to: d, sum: d, count: 1 });
  }
  const [first, second] = groups.slice().sort((a, b) => b.count - a.count);
  if (first === undefined || second === undefined || second.count < LEAST_ON_RARER) return null;
  if (first.count + second.count < ON_TWO * sorted.length) return null;
  const [a, b] = [first.sum / first.count, second.sum / second.count];
  const tick = Math.abs(a - b);
  const shorter = Math.min(a, b);
  if (tick < 1.5) return null;
  if (tick > COARSE * shorter && second.count < LEAST_SHARE_COARSE * sorted.length) return null;
  // Both are whole counts of ticks, as far as the digits tell.
  const counts = Math.round(shorter / tick);
  if (counts < 1 || Math.abs(shorter - counts * tick) > 0.5 * (counts + 1)) return null;
  const period = (first.sum + second.sum) / (first.count + second.count);
  return staysNear(intervals, Math.max(first.to, second.to), period, tick) ? tick : null;
}

/** Whether the stamps, lost readings left out, stay within a tick on both sides of a straight line; `longest` is the longest interval of one reading. */
function staysNear(intervals: readonly number[], longest: number, period: number, tick: number): boolean {
  let away = 0;
  let low = 0;
  let high = 0;
  for (const d of intervals) {
    away += d - (d <= longest ? 1 : Math.round(d / period)) * period;
    low = Math.min(low, away);
    high = Math.max(high, away);
  }
  return high - low <= 2 * tick + 2;
}

function powerOfTwo(sorted: readonly number[], typical: number): number {
  let tick = 1;
  while (2 * FINE * tick <= typical && sorted.every((d) => d % (2 * tick) === 0)) tick *= 2;
  return sorted.filter((d) => d !== typical).length >= LEAST_ON_RARER ? tick : 1;
}
