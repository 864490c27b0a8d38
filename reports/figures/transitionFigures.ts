import type { MetricName } from "../../lib/bench/metrics.ts";
import { idealTransition, type Scale } from "../../lib/bench/scale.ts";
import type { LimitRow } from "../../lib/judge/figure.ts";
import type { TransitionCurve } from "../../lib/measure/measurement.ts";
import type { CaptureScore } from "../../lib/session.ts";
import { codePlace } from "../codePlace.ts";
import type { FigureEntry } from "../figure.ts";
import type { LimitSpec, MarkSpec, SeriesSpec } from "../figureSpec.ts";
import { counted, plain, prefixFor, quantity, shownText, toPlace } from "../number.ts";
import type { TableSpec } from "../table.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";
import { codeCurve, codeInterval, extremes } from "./codeCurve.ts";
import { untested } from "./untested.ts";

/** Figures over codes share cursor and zoom when their converters have the same codes. */
function codeGroup(scale: Scale): string {
  return `codes-${scale.topCode}`;
}

/** A bench limit on either end of a curve, as lines: inl bounds both sides. */
function limitLines(limits: readonly LimitRow[], ends: Readonly<Record<string, 1 | -1 | 0>>): LimitSpec[] {
  const lines: LimitSpec[] = [];
  for (const l of limits) {
    const side = ends[l.metric];
    if (side === undefined) continue;
    const label = `limit ${plain(l.limit)} LSB`;
    if (side === 0) {
      lines.push({ y: l.limit, label }, { y: -l.limit, label: `limit −${plain(l.limit)} LSB` });
    } else lines.push({ y: l.limit, label: `limit ${toPlace(l.limit, placesOf(l.limit))} LSB` });
  }
  return lines.filter((l, i) => lines.findIndex((m) => m.y === l.y) === i);
}

function placesOf(value: number): number {
  return (String(Math.abs(value)).split(".")[1] ?? "").length;
}

function extremeMarks(first: number, values: Float64Array, unit: string): MarkSpec[] {
  const found = extremes(values);
  if (found === null) return [];
  const mark = (i: number, name: string): MarkSpec => ({
    x: first + i,
    y: values[i]!,
    label: String(first + i),
    text: `${name} ${toPlace(values[i]!, 2, true)} ${unit} at code ${first + i}`,
  });
  return found.max === found.min
    ? [mark(found.max, "largest")]
    : [mark(found.max, "largest"), mark(found.min, "smallest")];
}

/** "+1.83 LSB at code 2048, where the top bit changes". */
function placeText(first: number, values: Float64Array, at: number, bits: number): string {
  const place = codePlace(first + at, bits);
  return `${toPlace(values[at]!, 2, true)} LSB, at code ${counted(first + at)}${place ? `, ${place}` : ""}`;
}

function testedText(curve: TransitionCurve, topCode: number): string {
  const tested = curve.volts.reduce((sum, v) => sum + (Number.isFinite(v) ? 1 : 0), 0);
  return tested === topCode
    ? ""
    : ` ${counted(topCode - tested)} of ${counted(topCode)} transitions were not reached by this stimulus and are hatched.`;
}

/** A curve whose own figures this capture cannot support would only look like a result: it is not drawn. */
function isKnown({ figures }: CaptureScore, ...metrics: MetricName[]): boolean {
  return metrics.some((m) => (figures[m]?.value ?? null) !== null);
}

export function inlFigure(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "inlMax", "inlMin")) return null;
  const { first, inl, inlU, line } = transitions;
  const { scale } = capture.record;
  const ends = extremes(inl);
  const lineName = line === "endpoint" ? "the straight line through the ends" : "the best-fit straight line";
  return {
    spec: {
      id: figureId("inl", index),
      title: `INL: ${capture.spec.name}`,
      caption:
        ends === null
          ? "No transition was tested, so there is no INL."
          : `The largest INL is ${placeText(first, inl, ends.max, scale.bits)}; the smallest ${placeText(first, inl, ends.min, scale.bits)}; both from ${lineName}.${withoutScatter(capture, "inl", inl, ends)} Where INL is positive the converter reads low.${testedText(transitions, scale.topCode)}`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "INL", unit: "LSB" },
      series: [codeInterval(first, inl, inlU), codeCurve("INL", "main", first, inl)],
      marks: extremeMarks(first, inl, "LSB"),
      limits: limitLines(limits, { inl: 0, inlMax: 1, inlMin: -1 }),
      hatched: untested(inl, first, scale.topCode),
      group: codeGroup(scale),
    },
    table: ends === null ? null : codeTable(`INL of ${capture.spec.name}`, "INL, LSB", first, inl, inlU, ends),
  };
}

export function dnlFigure(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "dnlMax", "dnlMin")) return null;
  const { first, dnl, dnlU, missing, possiblyMissing } = transitions;
  const { scale } = capture.record;
  const ends = extremes(dnl);
  const missed =
    missing.length > 0
      ? ` ${missing.length === 1 ? "Code" : "Codes"} ${listed(missing)} never ${missing.length === 1 ? "comes" : "come"}.`
      : possiblyMissing.length > 0
        ? ` No code is shown to be missing; the record is too short to tell for ${counted(possiblyMissing.length)}.`
        : " No code is missing among those tested.";
  return {
    spec: {
      id: figureId("dnl", index),
      title: `DNL: ${capture.spec.name}`,
      caption:
        ends === null
          ? "No code was tested on both sides, so there is no DNL."
          : `The widest code has DNL ${placeText(first, dnl, ends.max, scale.bits)}; the narrowest ${placeText(first, dnl, ends.min, scale.bits)}.${withoutScatter(capture, "dnl", dnl, ends)}${missed}`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "DNL", unit: "LSB" },
      series: [codeInterval(first, dnl, dnlU), codeCurve("DNL", "main", first, dnl)],
      marks: [
        ...extremeMarks(first, dnl, "LSB"),
        ...missing
          .slice(0, 20)
          .map((code) => ({ x: code, y: -1, label: `${code} missing`, text: `code ${code} is missing` })),
      ].filter((m, i, all) => all.findIndex((o) => o.x === m.x && o.label.length >= m.label.length) === i),
      limits: limitLines(limits, { dnl: 0, dnlMax: 1, dnlMin: -1 }),
      hatched: untested(dnl.subarray(0, -1), first, scale.topCode - 1),
      group: codeGroup(scale),
    },
    table: ends === null ? null : codeTable(`DNL of ${capture.spec.name}`, "DNL, LSB", first, dnl, dnlU, ends),
  };
}

function listed(codes: readonly number[]): string {
  const shownCodes = codes.slice(0, 8).join(", ");
  return codes.length > 8 ? `${shownCodes} and ${counted(codes.length - 8)} more` : shownCodes;
}

/** The extremes that the table reports, where they are not those of the drawn curve: the scatter of single codes is taken out of them. */
function withoutScatter(
  { figures }: CaptureScore,
  kind: "inl" | "dnl",
  values: Float64Array,
  ends: { max: number; min: number },
): string {
  const max = figures[`${kind}Max`];
  const min = figures[`${kind}Min`];
  if (max?.value == null || min?.value == null) return "";
  if (Math.abs(max.value - values[ends.max]!) < 0.02 && Math.abs(min.value - values[ends.min]!) < 0.02) return "";
  return ` The curve holds this record's own scatter; with that taken out the extremes are ${shownText(max, { signed: true })} and ${shownText(min, { signed: true })}.`;
}

/** What the converter reads too much at each input, nothing corrected. Only where the stimulus is known in volts. */
export function readingErrorFigure(
  capture: CaptureScore,
  limits: readonly LimitRow[],
  index: number,
): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "totalUnadjustedError")) return null;
  const { scale } = capture.record;
  const { first, volts } = transitions;
  const error = volts.map((v, i) => (idealTransition(scale, first + i) - v) / scale.lsb);
  const ends = extremes(error);
  if (ends === null) return null;
  const { factor, unit } = prefixFor(scale.low + scale.fsr, "V");
  const curve = codeCurve("reads too high by", "main", 0, error, COLUMNS);
  // Placed at the ideal transition: within the error itself of the true input, which no plot shows.
  const at = (i: number): number => idealTransition(scale, first + i) / factor;
  const x =
    "count" in curve.x
      ? { from: at(curve.x.from), step: (curve.x.step * scale.lsb) / factor, count: curve.x.count }
      : [];
  const where = (i: number): string =>
    `${toPlace(Math.abs(error[i]!), 2)} LSB too ${error[i]! < 0 ? "low" : "high"} near ${quantity(volts[i]!, "V", 4)}`;
  return {
    spec: {
      id: figureId("error", index),
      title: `Reading error over the input: ${capture.spec.name}`,
      caption: `With nothing corrected the converter reads between ${where(ends.max)} and ${where(ends.min)}. Offset lifts this curve, gain error tilts it, INL bends it.`,
      x: { quantity: "input at the pin", unit },
      y: { quantity: "reads too high by", unit: "LSB" },
      series: [{ ...curve, x }],
      limits: limitLines(limits, { totalUnadjustedError: 0 }),
      hatched: untested(error, first, scale.topCode).map((r) => ({
        ...r,
        from: idealTransition(scale, r.from) / factor,
        to: idealTransition(scale, r.to) / factor,
      })),
      group: `input-${scale.low}-${scale.fsr}`,
    },
    table: codeTable(`Reading error of ${capture.spec.name}`, "reads too high by, LSB", first, error, null, ends),
  };
}

/** Both directions of a triangle or sine. */
export function hysteresisFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  const difference = transitions?.hysteresis;
  if (transitions === undefined || difference === undefined || !isKnown(capture, "hysteresis")) return null;
  const ends = extremes(difference);
  if (ends === null) return null;
  const { scale } = capture.record;
  const value = capture.figures.hysteresis?.value ?? null;
  const furthest = Math.abs(difference[ends.max]!) >= Math.abs(difference[ends.min]!) ? ends.max : ends.min;
  return {
    spec: {
      id: figureId("hysteresis", index),
      title: `Rising against falling: ${capture.spec.name}`,
      caption: `The same transition met from below and from above lies up to ${toPlace(Math.abs(difference[furthest]!), 2)} LSB apart, at code ${counted(transitions.first + furthest)}${value === null ? "" : `; with this record's own scatter taken out, hysteresis is ${shownText(capture.figures.hysteresis!)}`}.`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "rising minus falling", unit: "LSB" },
      series: [codeCurve("rising minus falling", "main", transitions.first, difference, COLUMNS)],
      hatched: untested(difference, transitions.first, scale.topCode),
      group: codeGroup(scale),
    },
    table: codeTable(
      `Hysteresis of ${capture.spec.name}`,
      "difference, LSB",
      transitions.first,
      difference,
      null,
      ends,
    ),
  };
}

/** Counts of every code against what an ideal converter would have counted. */
export function codeHistogramFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { histogram } = capture.curves;
  if (histogram === undefined) return null;
  const { counts, expected } = histogram;
  const { scale } = capture.record;
  let tested = 0;
  let most = 0;
  let empty = 0;
  let expectedCount = 0;
  for (let i = 0; i < counts.length; i++) {
    if (!Number.isFinite(expected[i])) continue;
    tested++;
    expectedCount += expected[i]!;
    if (counts[i] === 0) empty++;
    if (counts[i]! > counts[most]!) most = i;
  }
  // On a logarithmic axis a count of none stands at the foot, where it can be seen, not nowhere.
  const floor = 0.5;
  const drawn = Float64Array.from(counts, (c, i) =>
    c === 0 && !Number.isFinite(expected[i]) ? Number.NaN : Math.max(c, floor),
  );
  const mean = tested === 0 ? 0 : expectedCount / tested;
  // Below one reading a code the counts are single readings and show nothing about codes.
  if (mean < 1) return null;
  return {
    spec: {
      id: figureId("histogram", index),
      title: `How often each code came: ${capture.spec.name}`,
      caption: `An ideal converter would have counted ${plain(mean, 3)} readings a code on average over the ${counted(tested)} codes that the stimulus passed; code ${counted(most)} came most often, ${counted(counts[most]!, "time")}${empty > 0 ? `, and ${counted(empty, "code")} never (drawn at the foot)` : ""}.`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "readings", unit: "", log: true },
      series: [codeCurve("counted", "main", 0, drawn), idealCounts(expected)],
      hatched: untested(expected, 0, counts.length - 1).filter((r) => r.to > 0),
      group: codeGroup(scale),
    },
    table: null,
  };
}

/** A ramp's ideal counts are one level: two points say it. A sine's are drawn code by code. */
function idealCounts(expected: Float64Array): SeriesSpec {
  const first = expected.findIndex((v) => Number.isFinite(v));
  const last = expected.findLastIndex((v) => Number.isFinite(v));
  const level = expected[first + 1];
  // The end codes collect what lies beyond the range, so they may differ.
  const isLevel = first >= 0 && expected.subarray(first + 1, last).every((v) => Math.abs(v - level!) < 1e-6 * level!);
  if (!isLevel || last - first < 3) return codeCurve("ideal converter", "second", 0, expected);
  return { kind: "line", name: "ideal converter", style: "second", x: [first + 1, last - 1], y: [level!, level!] };
}

/** At most some 20 rows of a curve over codes: its extremes, and evenly spaced codes between. */
function codeTable(
  caption: string,
  head: string,
  first: number,
  values: Float64Array,
  standard: Float64Array | null,
  ends: { max: number; min: number },
): TableSpec {
  const stride = Math.max(1, Math.ceil(values.length / 16));
  const picked = new Set([ends.max, ends.min]);
  for (let i = 0; i < values.length; i += stride) if (Number.isFinite(values[i])) picked.add(i);
  const rows = [...picked].sort((a, b) => a - b);
  return {
    caption: stride === 1 ? caption : `${caption}: the extremes, and every ${stride}th code between`,
    columns: [
      { head: "code", align: "number" },
      { head, align: "number" },
      ...(standard ? [{ head: "±, about 95 %", align: "number" as const }] : []),
      { head: "remark" },
    ],
    rows: rows.map((i) => [
      String(first + i),
      toPlace(values[i]!, 3, true),
      ...(standard ? [plain(1.96 * standard[i]!, 2)] : []),
      i === ends.max ? "largest" : i === ends.min ? "smallest" : "",
    ]),
  };
}
