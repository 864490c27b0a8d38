import type { CaptureScore } from "../../lib/session.ts";
import type { SineFit } from "../../lib/signal/sineFit.ts";
import { envelope, foldedEnvelope, foldedResidual, residualEnvelope } from "../envelope.ts";
import type { FigureEntry } from "../figure.ts";
import type { SeriesSpec } from "../figureSpec.ts";
import { counted, plain } from "../number.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";

const DRAWN_WHOLE = 3000;
const SLICES = 500;

/** The record against its fitted sine, in four figures: the first periods, what is left over the record, all periods laid over one, and what is left over the period. Empty where no sine was fitted. */
export function fitFigures(capture: CaptureScore, index: number): FigureEntry[] {
  const { fit } = capture.record;
  if (fit === null || capture.record.codes.length === 0) return [];
  return [
    periodsFigure(capture, fit, index),
    residualFigure(capture, fit, index),
    foldedFigure(capture, fit, index),
    foldedResidualFigure(capture, fit, index),
  ];
}

function sineAt(fit: SineFit, n: number): number {
  return fit.offset + fit.amplitude * Math.cos(2 * Math.PI * fit.cyclesPerReading * n + fit.phase);
}

function periodsFigure({ record, spec }: CaptureScore, fit: SineFit, index: number): FigureEntry {
  const { codes } = record;
  const period = 1 / fit.cyclesPerReading;
  const count = Math.min(codes.length, Math.max(24, Math.min(600, Math.ceil(3 * period))));
  // The sine is drawn between the readings too: with few readings a period it would look like a zigzag otherwise.
  const fine = Math.min(16, Math.max(1, Math.ceil(800 / count)));
  const x = Array.from({ length: (count - 1) * fine + 1 }, (_, i) => i / fine);
  return {
    spec: {
      id: figureId("periods", index),
      title: `First readings and the fitted sine: ${spec.name}`,
      caption: `${counted(count, "reading")}, ${plain(count * fit.cyclesPerReading, 3)} periods; one period takes ${plain(period, 5)} readings. The fitted sine swings ±${plain(fit.amplitude, 5)} LSB about code ${plain(fit.offset, 6)}.`,
      x: { quantity: "reading", unit: "", whole: true },
      y: { quantity: "code", unit: "" },
      series: [
        { kind: "line", name: "fitted sine", style: "second", x, y: x.map((n) => sineAt(fit, n)) },
        {
          kind: "points",
          name: "code",
          style: "main",
          x: { from: 0, step: 1, count },
          y: codes.subarray(0, count),
        },
      ],
    },
    table: null,
  };
}

function residualFigure({ record, spec }: CaptureScore, fit: SineFit, index: number): FigureEntry {
  const { codes, scale } = record;
  const n = codes.length;
  const short = n <= DRAWN_WHOLE;
  const { each, low, high } = residualEnvelope(codes, fit, short ? n : COLUMNS);
  const base = { name: "code minus fitted sine", style: "main" } as const;
  const series: SeriesSpec = short
    ? { ...base, kind: "points", x: { from: 0, step: 1, count: n }, y: low }
    : { ...base, kind: "band", x: { from: (each - 1) / 2, step: each, count: low.length }, low, high };
  const railed = record.findings.some((f) => f.id === "clipped") || touchesRails(codes, scale.topCode);
  const ideal = 1 / Math.sqrt(12);
  return {
    spec: {
      id: figureId("residual", index),
      title: `What the sine leaves: ${spec.name}`,
      caption: railed
        ? `The record touches the end codes, where the sine is cut off; there the difference is not the converter's. Within the range ${plain(fit.residualRms, 3)} LSB rms is left.`
        : `${plain(fit.residualRms, 3)} LSB rms is left, ${plain(fit.residualRms / ideal, 3)} times what rounding to whole codes alone leaves (${plain(ideal, 3)} LSB). A record that is noise and rounding only is level here; steps, bursts and slopes are the capture's.`,
      x: { quantity: "reading", unit: "", whole: true },
      y: { quantity: "difference", unit: "LSB" },
      series: [series],
      group: figureId("readings", index),
    },
    table: blocks(low, high, each, n, `What the sine leaves of ${spec.name}`),
  };
}

function touchesRails(codes: Int32Array, top: number): boolean {
  const { low, high } = envelope(codes, 1);
  return (low[0] as number) <= 0 || (high[0] as number) >= top;
}

function blocks(low: Float64Array, high: Float64Array, each: number, n: number, caption: string): FigureEntry["table"] {
  const join = Math.ceil(low.length / 16);
  const rows: string[][] = [];
  for (let i = 0; i < low.length; i += join) {
    const lo = low.subarray(i, i + join).reduce((a, b) => Math.min(a, b));
    const hi = high.subarray(i, i + join).reduce((a, b) => Math.max(a, b));
    rows.push([`${counted(i * each)} … ${counted(Math.min(n, (i + join) * each) - 1)}`, plain(lo, 4), plain(hi, 4)]);
  }
  return {
    caption,
    columns: [
      { head: "readings", align: "number" },
      { head: "smallest, LSB", align: "number" },
      { head: "largest, LSB", align: "number" },
    ],
    rows,
  };
}

function foldedFigure({ record, spec }: CaptureScore, fit: SineFit, index: number): FigureEntry {
  const { codes } = record;
  const n = codes.length;
  const turn = (i: number): number => {
    const t = fit.phase / (2 * Math.PI) + i * fit.cyclesPerReading;
    return t - Math.floor(t);
  };
  const curve = Array.from({ length: 241 }, (_, i) => i / 240);
  const sine = {
    kind: "line",
    name: "fitted sine",
    style: "second",
    x: curve,
    y: curve.map((t) => fit.offset + fit.amplitude * Math.cos(2 * Math.PI * t)),
  } as const;
  const short = n <= DRAWN_WHOLE;
  let series: SeriesSpec;
  let empty = 0;
  if (short) {
    const order = Array.from({ length: n }, (_, i) => i).sort((a, b) => turn(a) - turn(b));
    series = { kind: "points", name: "code", style: "main", x: order.map(turn), y: order.map((i) => codes[i]!) };
  } else {
    const { low, high } = foldedEnvelope(codes, fit, SLICES);
    empty = low.reduce((sum, v) => sum + (Number.isNaN(v) ? 1 : 0), 0);
    series = {
      kind: "band",
      name: "code",
      style: "main",
      x: { from: 0.5 / SLICES, step: 1 / SLICES, count: SLICES },
      low,
      high,
    };
  }
  return {
    spec: {
      id: figureId("folded", index),
      title: `All periods laid over one: ${spec.name}`,
      caption: `${counted(n, "reading")} of ${plain(n * fit.cyclesPerReading, 5)} periods, placed by their phase.${
        short
          ? " A jump in phase or lost readings would show as a second curve."
          : empty > 0
            ? ` ${counted(empty)} of ${SLICES} slices of the period hold no reading: the record meets the sine at few phases.`
            : " Every slice of the period holds readings; a jump in phase or lost readings would widen the band."
      }`,
      x: { quantity: "phase", unit: "periods", range: [0, 1] },
      y: { quantity: "code", unit: "" },
      series: [series, sine],
    },
    table: null,
  };
}

/** What the sine leaves, by phase: what repeats every period is the converter's curve and its distortion, the rest is noise. */
function foldedResidualFigure({ record, spec }: CaptureScore, fit: SineFit, index: number): FigureEntry {
  const { codes } = record;
  const slices = codes.length <= DRAWN_WHOLE ? Math.max(8, Math.min(100, Math.floor(codes.length / 12))) : SLICES;
  const { low, high, mean } = foldedResidual(codes, fit, slices);
  const x = { from: 0.5 / slices, step: 1 / slices, count: slices };
  const known = mean.filter((v) => Number.isFinite(v));
  const swing =
    known.length === 0 ? 0 : (known.reduce((a, b) => Math.max(a, b)) - known.reduce((a, b) => Math.min(a, b))) / 2;
  return {
    spec: {
      id: figureId("folded-residual", index),
      title: `What the sine leaves, over one period: ${spec.name}`,
      caption: `The mean of what is left swings by ±${plain(swing, 2)} LSB over the period: that part repeats, so it is distortion, the converter's or the source's. The band about it is noise and rounding.`,
      x: { quantity: "phase", unit: "periods", range: [0, 1] },
      y: { quantity: "difference", unit: "LSB" },
      series: [
        { kind: "band", name: "smallest to largest", style: "reference", x, low, high },
        { kind: "line", name: "mean", style: "main", x, y: mean },
      ],
    },
    table: null,
  };
}
