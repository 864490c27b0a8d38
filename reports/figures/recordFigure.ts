import type { CaptureScore } from "../../lib/session.ts";
import { type Envelope, envelope } from "../envelope.ts";
import type { FigureEntry } from "../figure.ts";
import type { MarkSpec, RangeSpec, SeriesSpec } from "../figureSpec.ts";
import { counted, plain, quantity } from "../number.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";

/** Short records are drawn reading by reading. */
const DRAWN_WHOLE = 3000;

/** The whole record, with what the findings point at marked on it. */
export function recordFigure(capture: CaptureScore, index: number): FigureEntry {
  const { record, findings, spec } = capture;
  const { codes, scale } = record;
  const n = codes.length;
  const short = n <= DRAWN_WHOLE;
  const reduced = envelope(codes, short ? Math.max(1, n) : COLUMNS);
  const series: SeriesSpec = short
    ? {
        kind: n <= 400 ? "points" : "line",
        name: "code",
        style: "main",
        x: { from: 0, step: 1, count: n },
        y: reduced.low,
      }
    : {
        kind: "band",
        name: "code",
        style: "main",
        x: { from: (reduced.each - 1) / 2, step: reduced.each, count: reduced.low.length },
        low: reduced.low,
        high: reduced.high,
      };
  const marks: MarkSpec[] = [];
  const hatched: RangeSpec[] = [];
  for (const f of findings) {
    for (const [first, last] of f.readings.slice(0, 12)) {
      // A finding about the whole record has no place in it.
      if (last - first + 1 > 0.9 * n) continue;
      if (last - first > n / 200) hatched.push({ from: first, to: last, label: f.id });
      // Named where it first stands; the other places are only marked.
      marks.push({
        x: first,
        label: marks.some((m) => m.label === f.id) ? "" : f.id,
        text: `${f.id}: readings ${counted(first)} to ${counted(last)}`,
      });
    }
  }
  const [low, high] = endsOf(reduced.low, reduced.high);
  const rate = record.sampleRate?.value ?? null;
  const lasting = rate === null ? "" : `, ${quantity(n / rate, "s", 3)} at ${quantity(rate, "Hz", 5)}`;
  const use = ((high - low + 1) / (scale.topCode + 1)) * 100;
  const caption =
    n === 0
      ? "The log holds no reading of this channel."
      : `${counted(n, "reading")}${lasting}; codes run from ${counted(low)} to ${counted(high)}, ${plain(use, 3)} % of the ${counted(scale.topCode + 1)} the converter has.${
          marks.length > 0 ? ` ${placesOf(marks)}` : ""
        }${short ? "" : ` Each column spans ${counted(reduced.each)} readings, from the smallest code to the largest.`}`;
  return {
    spec: {
      id: figureId("record", index),
      title: `The record: ${spec.name}`,
      caption,
      x: { quantity: "reading", unit: "", whole: true },
      y: { quantity: "code", unit: "", whole: true },
      series: [series],
      marks,
      hatched,
      group: figureId("readings", index),
    },
    table: n === 0 ? null : tableOf(reduced, n, spec.name),
  };
}

function endsOf(lows: Float64Array, highs: Float64Array): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of lows) if (v < low) low = v;
  for (const v of highs) if (v > high) high = v;
  return [low, high];
}

function placesOf(marks: readonly MarkSpec[]): string {
  const names = [...new Set(marks.map((m) => m.label))].filter((name) => name !== "");
  return `Marked: ${names.map((name) => `${name} from reading ${counted(marks.find((m) => m.label === name)!.x)}`).join("; ")}.`;
}

function tableOf({ each, low, high }: Envelope, n: number, name: string): FigureEntry["table"] {
  const join = Math.ceil(low.length / 16);
  const rows: string[][] = [];
  for (let i = 0; i < low.length; i += join) {
    const [lo, hi] = endsOf(low.subarray(i, i + join), high.subarray(i, i + join));
    rows.push([`${counted(i * each)} … ${counted(Math.min(n, (i + join) * each) - 1)}`, counted(lo), counted(hi)]);
  }
  return {
    caption: `Codes of ${name}, in ${counted(rows.length)} parts of the record`,
    columns: [
      { head: "readings", align: "number" },
      { head: "smallest code", align: "number" },
      { head: "largest code", align: "number" },
    ],
    rows,
  };
}
