import type { Seconds } from "../bench/units.ts";
import type { Stretch } from "../capture/record.ts";
import type { Detector } from "./context.ts";
import { say } from "./say.ts";
import { timeStampRate } from "./timeStampRate.ts";

/** Share of a period below which a departure is taken as the stamps' own arithmetic. */
const NEGLIGIBLE = 0.002;
/** Scatter that is worth a warning whatever the signal: share of a period, and of the stamps' resolution, within which a reading's own delay before it is stamped stays. */
const MARKED = { ofPeriod: 0.01, ofResolution: 0.7 };
/** Of what the sine leaves: from here on the scatter matters to its figures; and what a scatter of the readings themselves would leave at least. */
const MATTERS = 0.5;
const CONTRADICTS = 3;
/** Places told. */
const MOST_PLACES = 10_000;

/** How the stamps depart from even ones, rounding taken off. */
interface Scatter {
  /** Rms of an interval, and the furthest. */
  readonly rms: Seconds;
  readonly worst: Seconds;
  readonly places: readonly Stretch[];
  readonly seen: string;
}

/**
 * Time stamps that do not advance evenly, lost readings aside. A stamp is rounded to its resolution, so that an even clock moves an interval by at most one step
 * either way: no statistics, anything beyond is uneven. Where a stamp is coarser than a reading, the stamps are held against a straight line
 * instead, from which rounding alone moves them by at most one step.
 * It is a warning from a per cent of a period on, and where it accounts for what a sine leaves. A stamp is often taken in an interrupt, later than its reading: a
 * scatter that a sine would show and does not is the stamps' alone, and a note.
 */
export const unevenSampling: Detector = ({ record, fit }) => {
  const { time } = record.log;
  const { codes, stimulus } = record;
  if (time === null || time.seconds.length !== codes.length || codes.length < 16) return [];
  const rate = timeStampRate(time);
  if (rate === null) return [];
  const { period } = rate;
  const { resolution } = time;
  const scatter =
    period >= 4 * resolution
      ? ofIntervals(time.seconds, period, resolution)
      : aboutLine(time.seconds, period, resolution);
  if (scatter === null) return [];
  const tone = stimulus?.kind === "sine" && fit !== null ? fit : null;
  // An interval has the scatter of two readings; the sine's slope is 1/√2 of its steepest in rms.
  const steepest =
    tone === null ? 0 : (2 * Math.PI * tone.cyclesPerReading * tone.amplitude * scatter.rms) / period / Math.SQRT2;
  const share = tone === null ? 0 : steepest / Math.SQRT2 / tone.residualRms;
  const isOfStamps = share > CONTRADICTS;
  const isMarked = scatter.rms > Math.max(MARKED.ofPeriod * period, MARKED.ofResolution * resolution);
  const effect =
    tone === null
      ? ""
      : isOfStamps
        ? ` That would be ${say.lsb(steepest)} rms of error at the tone's steepest, which it does not show: the stamps scatter, not the readings.`
        : ` At the tone's steepest that is ${say.lsb(steepest)} rms of error.`;
  return [
    {
      id: "uneven-sampling",
      severity: !isOfStamps && (isMarked || share > MATTERS) ? "warning" : "note",
      text: `${scatter.seen}${effect}`,
      cause: isOfStamps
        ? "The stamp is taken some time after the reading, in an interrupt that others delay."
        : "Conversions are started by the program's loop, or interrupts delay them.",
      advice: "Start conversions from a timer, and let DMA fetch them.",
      readings: scatter.places.slice(0, 200),
      nulls: [],
    },
  ];
};

function ofIntervals(seconds: Float64Array, period: Seconds, resolution: Seconds): Scatter | null {
  const allowed = 1.01 * resolution + NEGLIGIBLE * period;
  const places: Stretch[] = [];
  let off = 0;
  let squares = 0;
  let intervals = 0;
  let worst = 0;
  for (let n = 1; n < seconds.length; n++) {
    const interval = seconds[n]! - seconds[n - 1]!;
    if (!Number.isFinite(interval)) continue;
    const periods = Math.round(interval / period);
    // A block that is sent twice brings its stamps along.
    if (periods < 0) continue;
    const away = interval - Math.max(1, periods) * period;
    intervals++;
    squares += away * away;
    if (Math.abs(away) <= allowed) continue;
    off++;
    if (places.length < MOST_PLACES) places.push([n, n]);
    worst = Math.max(worst, Math.abs(away));
  }
  if (off < 2 && !(worst > 0.3 * period)) return null;
  // Rounding adds resolution²/6 to the square of an interval.
  const rms = Math.sqrt(Math.max(0, squares / intervals - resolution ** 2 / 6));
  return {
    rms,
    worst,
    places,
    seen: `Intervals between readings scatter by ${say.seconds(rms)} rms about ${say.seconds(period)} (${say.ratio(rms / period)}), the worst by ${say.seconds(worst)}; ${say.count(off)} of ${say.count(intervals)} are off by more than the stamps' resolution of ${say.seconds(resolution)}.`,
  };
}

function aboutLine(seconds: Float64Array, period: Seconds, resolution: Seconds): Scatter | null {
  const start = seconds.find((t) => Number.isFinite(t)) ?? 0;
  const away = (n: number): Seconds => seconds[n]! - start - n * period;
  // The line through the first and the last stamp has their rounding; the least-squares line has not.
  const middle = (seconds.length - 1) / 2;
  let count = 0;
  let mean = 0;
  let slope = 0;
  let spread = 0;
  for (let n = 0; n < seconds.length; n++) {
    const y = away(n);
    if (!Number.isFinite(y)) continue;
    count++;
    mean += y;
    slope += (n - middle) * y;
    spread += (n - middle) ** 2;
  }
  mean /= count;
  slope /= spread;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let squares = 0;
  for (let n = 0; n < seconds.length; n++) {
    const y = away(n) - mean - slope * (n - middle);
    if (!Number.isFinite(y)) continue;
    low = Math.min(low, y);
    high = Math.max(high, y);
    squares += y * y;
  }
  const worst = high - low;
  if (worst <= 2 * resolution + NEGLIGIBLE * period) return null;
  const rms = Math.SQRT2 * Math.sqrt(Math.max(0, squares / count - resolution ** 2 / 12));
  return {
    rms,
    worst,
    places: [[0, seconds.length - 1]],
    seen: `The time stamps depart from an even clock of ${say.seconds(period)} by ${say.seconds(rms / Math.SQRT2)} rms, over a width of ${say.seconds(worst)}, where their resolution of ${say.seconds(resolution)} accounts for twice that at most.`,
  };
}
