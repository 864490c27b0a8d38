import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { fitLine } from "../signal/linearFit.ts";
import { median } from "../signal/median.ts";
import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { fitWithoutUpsets } from "./fitWithoutUpsets.ts";
import { median5, robustDeviation } from "./robust.ts";
import { say } from "./say.ts";
import { steppedVolts } from "./steppedLevels.ts";
import { exclusion } from "./usableCodes.ts";

/** More than this share is not single upsets but the record's nature. */
const MOST_SHARE = 0.02;
/** So few are single upsets in a short record as well. */
const FEW = 5;
/** A run longer than this is a disturbance, not an upset reading. */
const LONGEST_RUN = 3;
/**
 * Standard deviations, and codes, that a reading must stand away: beyond eight, Gaussian noise gives one reading in 10^15; four codes are left to the converter's own
 * single-code errors.
 */
const DEVIATIONS = 8;
const CODES = 4;

/** Single readings far away from where the signal and its noise put them ("sparkle" codes). */
export const outliers: Detector = (context) => {
  const { record, seen } = context;
  if (record.codes.length < 32) return [];
  const found =
    record.stimulus?.kind === "sine" ? aboutFit(context) : finest(aboutNeighbours(context), aboutTriangle(context));
  if (
    found === null ||
    found.places.length === 0 ||
    found.places.length > Math.max(FEW, MOST_SHARE * record.codes.length)
  )
    return [];
  const { places, worst, limit } = found;
  const outside = seen.below + seen.above;
  return [
    {
      id: "outliers",
      severity: "warning",
      text: `${say.plural(places.length, "reading stands", "readings stand")} apart from signal and noise (${say.places(places)}), the furthest by ${say.lsb(worst)}, where noise reaches ${say.lsb(limit)}${outside > 0 ? `; ${say.count(outside)} of all readings lie outside the code range` : ""}.`,
      cause: "A bit upset on the way (marginal bus timing, a torn serial line), or sparkle codes of the converter.",
      advice: "Slow the bus or the serial link and look whether they stay; log a checksum to tell link from converter.",
      readings: places.slice(0, 1000),
      nulls: [],
    },
  ];
};

interface Apart {
  readonly places: Stretch[];
  readonly worst: number;
  readonly limit: number;
}

function aboutFit({ record, fit: whole, clean, usable }: MatchContext): Apart | null {
  if (whole === null) return null;
  const { codes, scale } = record;
  // On rails and plateaus the signal stands still.
  const low = Math.max(0, usable?.floor ?? 0);
  const high = Math.min(scale.topCode, usable?.ceiling ?? scale.topCode);
  const [first, last] = longest(clean);
  const fit = last - first < SHORT ? fitWithoutUpsets(codes, whole, [first, last], exclusion(usable)).fit : whole;
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  const model = (n: number): number =>
    Math.max(low, Math.min(high, fit.offset + fit.amplitude * Math.cos(omega * n + fit.phase)));
  const stride = Math.max(1, Math.floor((last - first + 1) / 20_000));
  const sample: number[] = [];
  for (let n = first; n <= last; n += stride) sample.push(Math.abs(codes[n]! - model(n)));
  if (sample.length < 32) return null;
  const limit = farthest(sample) + CODES * converterLsb(record);
  const sine = alongSine(fit);
  // A reading that shows the one before again is a stale one and has its own finding.
  return collect(first, last, limit, (n) =>
    n > first && codes[n] === codes[n - 1] ? 0 : codes[n]! - Math.max(low, Math.min(high, sine(n))),
  );
}

/** Fewer readings let a handful of upset ones spoil the fit and the measures of its scatter. */
const SHORT = 512;

/**
 * Where noise ends: eight deviations by the larger of the median's measure and a high quantile's, which covers flat-topped remainders as well. Of a Gaussian 2 % lie beyond
 * 2.326 deviations, a tenth beyond 1.645: a handful of upset readings must not reach the quantile of a short record.
 */
function farthest(sizes: number[]): number {
  sizes.sort((a, b) => a - b);
  const [share, deviations] = sizes.length < SHORT ? [0.9, 1.645] : [0.98, 2.326];
  return (
    DEVIATIONS * Math.max(1.4826 * median(sizes), sizes[Math.floor(share * (sizes.length - 1))]! / deviations, 0.3)
  );
}

/** The one of two measures that noise leaves nearer. */
function finest(one: Apart | null, other: Apart | null): Apart | null {
  if (one === null || other === null) return one ?? other;
  return other.limit < one.limit ? other : one;
}

/** A triangle against the one fitted to it; at an apex, which a source rounds, one reading's advance is allowed for. */
function aboutTriangle({ record, triangle, clean }: MatchContext): Apart | null {
  if (triangle?.period == null) return null;
  const { codes, scale } = record;
  const top = scale.topCode;
  const [first, last] = longest(clean);
  const { frequency, start } = triangle.period;
  const stride = Math.max(1, Math.floor((last - first + 1) / 20_000));
  const model = (n: number): number => Math.max(0, Math.min(top, triangle.at(n)));
  const sizes: number[] = [];
  for (let n = first; n <= last; n += stride) sizes.push(Math.abs(codes[n]! - model(n)));
  if (sizes.length < 32) return null;
  const limit = farthest(sizes) + CODES * converterLsb(record);
  return collect(first, last, limit, (n) => {
    const away = codes[n]! - model(n);
    const halves = 2 * (frequency * n + start);
    const isApex = Math.abs(halves - Math.round(halves)) < 2 * frequency;
    return isApex ? Math.sign(away) * Math.max(0, Math.abs(away) - triangle.slope) : away;
  });
}

/** Ramp, triangle, steady, steps: against the median of five neighbours, which follows slopes and steps exactly. */
function aboutNeighbours({ record, clean }: MatchContext): Apart | null {
  const { codes } = record;
  const [first, last] = longest(clean);
  if (last - first < 32) return null;
  const applied = alongApplied(record);
  const about = (y: (n: number) => number, n: number): number =>
    y(n) - median5(y(n - 2), y(n - 1), y(n), y(n + 1), y(n + 2));
  const read = (n: number): number => codes[n]!;
  // The first and last two readings have no five neighbours. A level of one or two readings stands apart from its neighbours and not from what is applied.
  const away = (n: number): number => {
    if (n < first + 2 || n > last - 2) return 0;
    const raw = about(read, n);
    if (applied === null || raw === 0) return raw;
    const beside = about((i) => codes[i]! - applied[i]!, n);
    return Math.abs(beside) < Math.abs(raw) ? beside : raw;
  };
  const stride = Math.max(1, Math.floor((last - first + 1) / 20_000));
  const sample: number[] = [];
  const moves: number[] = [];
  for (let n = first + 1; n <= last; n += stride) {
    sample.push(away(n));
    moves.push(Math.abs(codes[n]! - codes[n - 1]!));
  }
  const sizes = sample.map(Math.abs).sort((a, b) => a - b);
  // The median of five is nearer to its middle reading than the signal is: at least four fifths of the noise remain.
  const bulk = Math.max(1.25 * robustDeviation(sample, 0), sizes[Math.floor(0.98 * (sizes.length - 1))]! / 2.326, 0.3);
  // Where a triangle turns round the median lags by up to two of its moves.
  const limit = DEVIATIONS * 1.25 * bulk + CODES * converterLsb(record) + 2 * median(moves);
  return collect(first, last, limit, away);
}

/** The codes that a staircase's voltages lead to by the record's own straight line; null where none are stated, or no line follows. */
function alongApplied(record: CaptureRecord): Float64Array | null {
  const { codes, scale } = record;
  const volts = steppedVolts(record);
  if (volts === null) return null;
  const used = Array.from(codes.keys()).filter(
    (n) => codes[n]! > 0 && codes[n]! < scale.topCode && Number.isFinite(volts[n]!),
  );
  const x = Float64Array.from(used, (n) => volts[n]!);
  if (x.every((v) => v === x[0])) return null;
  const { slope, intercept } = fitLine(
    x,
    Float64Array.from(used, (n) => codes[n]!),
  );
  return volts.map((v) => (Number.isFinite(v) ? intercept + slope * v : 0));
}

function collect(first: number, last: number, limit: number, away: (n: number) => number): Apart {
  const places: Stretch[] = [];
  let worst = 0;
  let start = -1;
  let furthest = 0;
  for (let n = first; n <= last + 1; n++) {
    const size = n <= last ? Math.abs(away(n)) : 0;
    if (size > limit) {
      if (start < 0) start = n;
      furthest = Math.max(furthest, size);
    } else if (start >= 0) {
      if (n - start <= LONGEST_RUN) {
        places.push([start, n - 1]);
        worst = Math.max(worst, furthest);
      }
      start = -1;
      furthest = 0;
    }
  }
  return { places, worst, limit };
}

function longest(clean: readonly Stretch[]): Stretch {
  return clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
}
