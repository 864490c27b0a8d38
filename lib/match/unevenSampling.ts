import type { Seconds } from "../bench/units.ts";
import type { Stretch } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Detector } from "./context.ts";
import { say } from "./say.ts";
import { timeStampRate } from "./timeStampRate.ts";

/** Share of a period below which a departure is taken as the stamps' own arithmetic. */
const NEGLIGIBLE = 0.002;
/** Scatter that is worth a warning whatever the signal: share of a period, and of the stamps' resolution, within which a reading's own delay before it is stamped stays. */
const MARKED = { ofPeriod: 0.01, ofResolution: 0.7 };
/** Share of what the sine leaves from which on the scatter matters to its figures. */
const MATTERS = 0.5;
/** Share of the stamps' scatter that the readings follow where it is theirs, and standard deviations by which it must differ from none, or from all where it is not. */
const FOLLOWED = 0.5;
const DEVIATIONS = 4;
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
 * scatter that a sine does not follow is the stamps' alone, and a note.
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
  const followed = tone === null ? null : followedBy(codes, tone, time.seconds, period, resolution);
  const isOfStamps = followed !== null && followed.share < Math.min(FOLLOWED, 1 - DEVIATIONS * followed.standard);
  const isOfReadings = followed !== null && followed.share > Math.max(FOLLOWED, DEVIATIONS * followed.standard);
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
      severity: (isMarked && !isOfStamps) || (isOfReadings && share > MATTERS) ? "warning" : "note",
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

/**
 * The share of the stamps' scatter that a sine's readings follow: what it leaves, regressed on its slope times the stamps' departures from an even clock. One where the readings were
 * taken when the stamps say, zero where the stamps alone scatter. Rounding, which no reading follows, is taken off.
 * @returns null where that cannot be told
 */
function followedBy(
  codes: Int32Array,
  tone: SineFit,
  seconds: Float64Array,
  period: Seconds,
  resolution: Seconds,
): { readonly share: number; readonly standard: number } | null {
  const { away } = departures(seconds, period);
  const omega = 2 * Math.PI * tone.cyclesPerReading;
  const sine = alongSine(tone);
  const slope = alongSine({ ...tone, offset: 0, amplitude: tone.amplitude * omega, phase: tone.phase + Math.PI / 2 });
  let [rr, rx, xx, rounding, count] = [0, 0, 0, 0, 0];
  for (let n = 0; n < codes.length; n++) {
    const late = away(n) / period;
    // A lost reading is no scatter.
    if (!(Math.abs(late) < 0.5)) return null;
    const r = codes[n]! - sine(n);
    const s = slope(n);
    rr += r * r;
    rx += r * s * late;
    xx += (s * late) ** 2;
    rounding += (s * s * (resolution / period) ** 2) / 12;
    count++;
  }
  const own = xx - rounding;
  return own > 0 ? { share: rx / own, standard: Math.sqrt((rr / count) * xx) / own } : null;
}

/** How far each stamp lies from the least-squares line through all, which has not the rounding of the first and the last. */
function departures(seconds: Float64Array, period: Seconds): { away: (n: number) => Seconds; count: number } {
  const start = seconds.find((t) => Number.isFinite(t)) ?? 0;
  const middle = (seconds.length - 1) / 2;
  const plain = (n: number): Seconds => seconds[n]! - start - n * period;
  let count = 0;
  let mean = 0;
  let slope = 0;
  let spread = 0;
  for (let n = 0; n < seconds.length; n++) {
    const y = plain(n);
    if (!Number.isFinite(y)) continue;
    count++;
    mean += y;
    slope += (n - middle) * y;
    spread += (n - middle) ** 2;
  }
  mean /= count;
  slope /= spread;
  return { away: (n) => plain(n) - mean - slope * (n - middle), count };
}

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
  const { away, count } = departures(seconds, period);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let squares = 0;
  for (let n = 0; n < seconds.length; n++) {
    const y = away(n);
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
