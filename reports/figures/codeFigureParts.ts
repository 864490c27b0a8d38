import type { MetricName } from "../../lib/bench/metrics.ts";
import type { Scale } from "../../lib/bench/scale.ts";
import type { LimitRow } from "../../lib/judge/figure.ts";
import type { TransitionCurve } from "../../lib/measure/measurement.ts";
import type { CaptureScore } from "../../lib/session.ts";
import { codePlace } from "../codePlace.ts";
import type { LimitSpec, MarkSpec } from "../figureSpec.ts";
import { counted, plain, shownText, toPlace } from "../number.ts";
import type { TableSpec } from "../table.ts";
import { type Extremes, extremes } from "./codeCurve.ts";

/** Figures over codes share cursor and zoom when their converters have the same codes. */
export function codeGroup(scale: Scale): string {
  return `codes-${scale.topCode}`;
}

/** A bench limit on either end of a curve, as lines: inl bounds both sides. */
export function limitLines(limits: readonly LimitRow[], ends: Readonly<Record<string, 1 | -1 | 0>>): LimitSpec[] {
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

/** The largest and smallest value, named by their codes. */
export function extremeMarks(first: number, values: Float64Array, found: Extremes | null, unit: string): MarkSpec[] {
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
export function placeText(first: number, values: Float64Array, at: number, bits: number): string {
  const place = codePlace(first + at, bits);
  return `${toPlace(values[at]!, 2, true)} LSB, at code ${counted(first + at)}${place ? `, ${place}` : ""}`;
}

/** How much of the curve the stimulus did not reach; nothing where it reached all. */
export function testedText(curve: TransitionCurve, topCode: number): string {
  const tested = extremes(curve.volts)?.known ?? 0;
  return tested === topCode
    ? ""
    : ` ${counted(topCode - tested)} of ${counted(topCode)} transitions were not reached by this stimulus and are hatched.`;
}

/** A curve whose own figures this capture cannot support would only look like a result: it is not drawn. */
export function isKnown({ figures }: CaptureScore, ...metrics: MetricName[]): boolean {
  return metrics.some((m) => (figures[m]?.value ?? null) !== null);
}

/** The extremes that the table reports, where they are not those of the drawn curve: the scatter of single codes is taken out of them. */
export function withoutScatter(
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

/** At most some 20 rows of a curve over codes: its extremes, and evenly spaced codes between. */
export function codeTable(
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
