import type { Ratio } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import type { LossEvent } from "./lossEvent.ts";
import { say } from "./say.ts";
import { timeStampRate } from "./timeStampRate.ts";

/** Losses that the log itself counts, by its running numbers or its time stamps. */
export function countedGaps(record: CaptureRecord): LossEvent[] {
  return [...sequenceGaps(record), ...stampGaps(record)];
}

function sequenceGaps(record: CaptureRecord): LossEvent[] {
  const { sequence } = record.log;
  if (sequence === null) return [];
  return sequence.gaps
    .filter((gap) => gap.missing > 0)
    .map(({ at, missing }) => ({
      at,
      within: 0,
      missing,
      alternatives: [],
      repeated: 0,
      evidence: `${sequence.name} leaves out ${say.plural(missing, "number")} before reading ${say.count(at)}`,
    }));
}

/** Most intervals that may be long before the sampling counts as uneven rather than as losing readings. */
const MOST_LONG_INTERVALS: Ratio = 0.05;

/** Deviations of the intervals by which one must be too long: readings that come early and late make some of two periods. */
const BEYOND_JITTER = 6;
/** Intervals from which their scatter is taken. */
const ASKED = 5000;

/** Intervals of two or more periods, where a stamp resolves one reading. */
function stampGaps(record: CaptureRecord): LossEvent[] {
  const { time } = record.log;
  if (time === null || time.seconds.length !== record.codes.length) return [];
  const rate = timeStampRate(time);
  if (rate === null || rate.period < 4 * time.resolution) return [];
  // Rounding moves an interval by one step at most.
  const rounding = time.resolution / rate.period;
  const events: LossEvent[] = [];
  const stride = Math.max(1, Math.floor(time.seconds.length / ASKED));
  const away: number[] = [];
  for (let n = stride; n < time.seconds.length; n += stride)
    away.push(Math.abs((time.seconds[n]! - time.seconds[n - 1]!) / rate.period - 1));
  const jitter = 1.4826 * median(away.filter((x) => Number.isFinite(x)));
  for (let n = 1; n < time.seconds.length; n++) {
    const periods = (time.seconds[n]! - time.seconds[n - 1]!) / rate.period;
    const missing = Math.round(periods) - 1;
    // A quarter of a period off a whole number is a late reading, not a lost one.
    const isLong = periods - 1 > Math.max(0.75, BEYOND_JITTER * jitter);
    if (!(missing >= 1) || !isLong || Math.abs(periods - missing - 1) > Math.max(0.25, rounding)) continue;
    events.push({
      at: n,
      within: 0,
      missing,
      alternatives: [],
      repeated: 0,
      evidence: `the time stamps leave ${say.seconds(periods * rate.period)} before reading ${say.count(n)}, ${say.number(periods)} periods`,
    });
  }
  return events.length > Math.max(20, MOST_LONG_INTERVALS * time.seconds.length) ? [] : events;
}
