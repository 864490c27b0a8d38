import type { Detector } from "./context.ts";
import { say } from "./say.ts";
import { timeStampRate } from "./timeStampRate.ts";

/** Share of a period below which a departure is taken as the stamps' own arithmetic. */
const NEGLIGIBLE = 0.002;

/**
 * Time stamps that do not advance evenly, lost readings aside. A stamp is rounded to its resolution, so that an even clock moves an interval by at most one step
 * either way: no statistics, anything beyond is uneven. Where a stamp is coarser than a reading, the stamps are held against a straight line
 * instead, from which rounding alone moves them by at most one step.
 */
export const unevenSampling: Detector = ({ record, fit }) => {
  const { time } = record.log;
  const { codes, stimulus } = record;
  if (time === null || time.seconds.length !== codes.length || codes.length < 16) return [];
  const rate = timeStampRate(time);
  if (rate === null) return [];
  const { seconds, resolution } = time;
  const { period } = rate;
  const places: [number, number][] = [];
  let squares = 0;
  let intervals = 0;
  let worst = 0;
  if (period >= 4 * resolution) {
    const allowed = 1.01 * resolution + NEGLIGIBLE * period;
    for (let n = 1; n < seconds.length; n++) {
      const interval = seconds[n]! - seconds[n - 1]!;
      if (!Number.isFinite(interval)) continue;
      const periods = Math.round(interval / period);
      // A block that is sent twice brings its stamps along.
      if (periods < 0) continue;
      const away = interval - Math.max(1, periods) * period;
      intervals++;
      squares += away * away;
      if (Math.abs(away) > allowed) {
        if (places.length < 10_000) places.push([n, n]);
        worst = Math.max(worst, Math.abs(away));
      }
    }
    // Rounding adds resolution²/6 to the square of an interval.
    squares -= (intervals * resolution ** 2) / 6;
  } else {
    const allowed = 2 * resolution + NEGLIGIBLE * period;
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    const start = seconds.find((t) => Number.isFinite(t)) ?? 0;
    for (let n = 0; n < seconds.length; n++) {
      const away = seconds[n]! - start - n * period;
      if (!Number.isFinite(away)) continue;
      low = Math.min(low, away);
      high = Math.max(high, away);
    }
    if (high - low > allowed) {
      worst = high - low;
      places.push([0, codes.length - 1]);
    }
    intervals = 1;
    squares = worst ** 2 / 12;
  }
  if (places.length < 2 && !(worst > 0.3 * period && places.length > 0)) return [];
  const jitter = Math.sqrt(Math.max(0, squares) / Math.max(1, intervals));
  const effect =
    stimulus?.kind === "sine" && fit !== null
      ? ` At the tone's steepest that is ${say.lsb((2 * Math.PI * fit.cyclesPerReading * fit.amplitude * jitter) / period / Math.SQRT2)} rms of error.`
      : "";
  return [
    {
      id: "uneven-sampling",
      severity: "warning",
      text: `Intervals between readings scatter by ${say.seconds(jitter)} rms about ${say.seconds(period)} (${say.ratio(jitter / period)}), the worst by ${say.seconds(worst)}; ${say.count(places.length)} of ${say.count(codes.length - 1)} are off by more than the stamps' resolution of ${say.seconds(resolution)}.${effect}`,
      cause: "Conversions are started by the program's loop, or interrupts delay them.",
      advice: "Start conversions from a timer, and let DMA fetch them.",
      readings: places.slice(0, 200),
      nulls: [],
    },
  ];
};
