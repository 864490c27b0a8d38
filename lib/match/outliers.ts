import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { fitLine } from "../signal/linearFit.ts";
import { median } from "../signal/median.ts";
import { oneIn } from "../signal/oneIn.ts";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";
import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { fitWithoutUpsets } from "./fitWithoutUpsets.ts";
import { robustDeviation } from "./robust.ts";
import { say } from "./say.ts";
import { steppedVolts } from "./steppedLevels.ts";
import { triangleOf } from "./sweepModel.ts";

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
  const fit = last - first < SHORT ? fitWithoutUpsets(codes, whole, [first, last], usable).fit : whole;
  const stride = strideOf(first, last);
  const picked = oneIn(stride, codes.subarray(first, last + 1));
  if (picked.length < 32) return null;
  const sizes = kernels.sizesAboutSine(picked, fit, first, stride, low, high);
  const limit = farthest(sizes) + CODES * converterLsb(record);
  // A reading that shows the one before again is a stale one and has its own finding.
  return apart(first, last, limit, (from, to) =>
    kernels.farFromSine(
      codes.subarray(from, to),
      from > first ? codes[from - 1]! : Number.NaN,
      fit,
      from,
      low,
      high,
      limit,
    ),
  );
}

/** Readings that a scatter is learnt from, about. */
const ASKED = 20_000;
const strideOf = (first: number, last: number): number => Math.max(1, Math.floor((last - first + 1) / ASKED));

/** Fewer readings let a handful of upset ones spoil the fit and the measures of its scatter. */
const SHORT = 512;

/**
 * Where noise ends: eight deviations by the larger of the median's measure and a high quantile's, which covers flat-topped remainders as well. Of a Gaussian 2 % lie beyond
 * 2.326 deviations, a tenth beyond 1.645: a handful of upset readings must not reach the quantile of a short record.
 */
function farthest(sizes: Float64Array): number {
  sizes.sort();
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
  const shape = triangleOf(triangle);
  const stride = strideOf(first, last);
  const picked = oneIn(stride, codes.subarray(first, last + 1));
  if (picked.length < 32) return null;
  const limit = farthest(kernels.sizesAboutTriangle(picked, shape, first, stride, top)) + CODES * converterLsb(record);
  return apart(first, last, limit, (from, to) =>
    kernels.farFromTriangle(codes.subarray(from, to), shape, from, top, triangle.slope, limit),
  );
}

/** Ramp, triangle, steady, steps: against the median of five neighbours, which follows slopes and steps exactly. */
function aboutNeighbours({ record, clean }: MatchContext): Apart | null {
  const { codes } = record;
  const [first, last] = longest(clean);
  if (last - first < 32) return null;
  // A level of one or two readings stands apart from its neighbours and not from what is applied.
  const applied = alongApplied(record) ?? new Float64Array(0);
  // From the second reading on; the first and last two have no five neighbours.
  const stride = strideOf(first, last);
  const count = Math.floor((last - first - 1) / stride) + 1;
  const sample = new Float64Array(count);
  const placeOf = (i: number): number => first + 1 + i * stride;
  const inner = Math.floor((last - 2 - placeOf(0)) / stride) + 1;
  const most = Math.max(1, Math.floor(MOST_AT_ONCE / stride));
  for (let i = 1; i < inner; i += most) {
    const [from, to] = [placeOf(i) - 2, placeOf(Math.min(inner, i + most) - 1) + 3];
    sample.set(kernels.awayFromNeighbours(codes.subarray(from, to), applied.subarray(from, to), stride), i);
  }
  const moves = new Float64Array(count);
  for (let i = 0; i < count; i++) moves[i] = Math.abs(codes[placeOf(i)]! - codes[placeOf(i) - 1]!);
  const sizes = sample.map(Math.abs).sort();
  // The median of five is nearer to its middle reading than the signal is: at least four fifths of the noise remain.
  const bulk = Math.max(1.25 * robustDeviation(sample, 0), sizes[Math.floor(0.98 * (count - 1))]! / 2.326, 0.3);
  // Where a triangle turns round the median lags by up to two of its moves.
  const limit = DEVIATIONS * 1.25 * bulk + CODES * converterLsb(record) + 2 * median(moves);
  return apart(first + 2, last - 2, limit, (from, to) =>
    kernels.farFromNeighbours(codes.subarray(from - 2, to + 2), applied.subarray(from - 2, to + 2), limit),
  );
}

/** The codes that a staircase's voltages lead to by the record's own straight line; null where none are stated, or no line follows. */
function alongApplied(record: CaptureRecord): Float64Array | null {
  const { codes, scale } = record;
  const volts = steppedVolts(record);
  if (volts === null) return null;
  const isUsed = (n: number): boolean => codes[n]! > 0 && codes[n]! < scale.topCode && Number.isFinite(volts[n]!);
  let count = 0;
  for (let n = 0; n < codes.length; n++) if (isUsed(n)) count++;
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  for (let n = 0, i = 0; n < codes.length; n++) {
    if (!isUsed(n)) continue;
    x[i] = volts[n]!;
    y[i++] = codes[n]!;
  }
  if (x.every((v) => v === x[0])) return null;
  const { slope, intercept } = fitLine(x, y);
  const along = new Float64Array(codes.length);
  for (let n = 0; n < along.length; n++) if (Number.isFinite(volts[n]!)) along[n] = intercept + slope * volts[n]!;
  return along;
}

/** Short runs of readings that stand away by more than a limit. @param farIn  such readings of a part, counted from its first; with how far away they stand */
function apart(
  first: number,
  last: number,
  limit: number,
  farIn: (from: number, to: number) => { readonly at: Int32Array; readonly sizes: Float64Array },
): Apart {
  const places: Stretch[] = [];
  let worst = 0;
  let run: { start: number; end: number; furthest: number } | null = null;
  const close = (): void => {
    if (run === null || run.end - run.start >= LONGEST_RUN) return;
    places.push([run.start, run.end]);
    worst = Math.max(worst, run.furthest);
  };
  for (let from = first; from <= last; from += MOST_AT_ONCE) {
    const { at, sizes } = farIn(from, Math.min(last + 1, from + MOST_AT_ONCE));
    for (let i = 0; i < at.length; i++) {
      const n = from + at[i]!;
      if (run === null || n > run.end + 1) {
        close();
        run = { start: n, end: n, furthest: sizes[i]! };
      } else {
        run.end = n;
        run.furthest = Math.max(run.furthest, sizes[i]!);
      }
    }
  }
  close();
  return { places, worst, limit };
}

function longest(clean: readonly Stretch[]): Stretch {
  return clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
}
