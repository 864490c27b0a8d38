import type { Stretch } from "../../lib/capture/record.ts";
import type { CaptureScore } from "../../lib/session.ts";
import type { SineFit } from "../../lib/signal/sineFit.ts";
import type { FigureEntry } from "../figure.ts";
import type { SeriesSpec } from "../figureSpec.ts";
import { counted, plain } from "../number.ts";
import { MOST_FOLDED, type SineEnvelopes, type SinePart, sineEnvelopes } from "../sineEnvelopes.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";

const DRAWN_WHOLE = 3000;
const SLICES = 500;

/** What the figures of one fit share: the stretch that the sine was fitted to, and whether the record has more. */
interface Fitted {
  readonly fit: SineFit;
  readonly part: SinePart;
  readonly broken: boolean;
  readonly envelopes: SineEnvelopes;
}

/** The record against its fitted sine, in four figures: the first periods, what is left over the record, all periods laid over one, and what is left over the period. Empty where no sine was fitted. */
export function fitFigures(capture: CaptureScore, index: number): FigureEntry[] {
  const { fit, codes, clean, scale } = capture.record;
  if (fit === null || codes.length === 0) return [];
  const whole: Stretch = [0, codes.length - 1];
  const [first, last] = clean.reduce<Stretch>((a, b) => (b[1] - b[0] > a[1] - a[0] ? b : a), clean[0] ?? whole);
  const part = { first, last, bottom: 0, top: scale.topCode };
  const readings = last - first + 1;
  const fitted: Fitted = {
    fit,
    part,
    broken: first > 0 || last < codes.length - 1,
    envelopes: sineEnvelopes(codes, fit, part, {
      blocks: readings <= DRAWN_WHOLE ? readings : COLUMNS,
      codeSlices: SLICES,
      leftSlices: readings <= DRAWN_WHOLE ? Math.max(8, Math.min(100, Math.floor(readings / 12))) : SLICES,
    }),
  };
  return [
    periodsFigure(capture, fitted, index),
    residualFigure(capture, fitted, index),
    foldedFigure(capture, fitted, index),
    foldedResidualFigure(capture, fitted, index),
  ];
}

function sineAt(fit: SineFit, n: number): number {
  return fit.offset + fit.amplitude * Math.cos(2 * Math.PI * fit.cyclesPerReading * n + fit.phase);
}

function periodsFigure({ record, spec }: CaptureScore, { fit, part }: Fitted, index: number): FigureEntry {
  const { codes } = record;
  const period = 1 / fit.cyclesPerReading;
  const { first } = part;
  const count = Math.min(part.last - first + 1, Math.max(24, Math.min(600, Math.ceil(3 * period))));
  // The sine is drawn between the readings too: with few readings a period it would look like a zigzag otherwise.
  const fine = Math.min(16, Math.max(1, Math.ceil(800 / count)));
  const x = Array.from({ length: (count - 1) * fine + 1 }, (_, i) => first + i / fine);
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
          x: { from: first, step: 1, count },
          y: codes.subarray(first, first + count),
        },
      ],
    },
    table: null,
  };
}

function residualFigure({ record, spec }: CaptureScore, fitted: Fitted, index: number): FigureEntry {
  const { fit, part, broken } = fitted;
  const { railed, left } = fitted.envelopes;
  const { each, low, high } = left;
  const n = part.last - part.first + 1;
  const short = n <= DRAWN_WHOLE;
  const base = { name: "code minus fitted sine", style: "main" } as const;
  const series: SeriesSpec = short
    ? { ...base, kind: "points", x: { from: part.first, step: 1, count: n }, y: low }
    : { ...base, kind: "band", x: { from: part.first + (each - 1) / 2, step: each, count: low.length }, low, high };
  const ideal = 1 / Math.sqrt(12);
  const parts = [
    `${plain(fit.residualRms, 3)} LSB rms is left, ${plain(fit.residualRms / ideal, 3)} times what rounding to whole codes alone leaves (${plain(ideal, 3)} LSB).`,
    railed ? "Readings at the end codes, where the sine is cut off, are left out." : "",
    broken
      ? `The sine is fitted to the longest sound stretch, readings ${counted(part.first)} to ${counted(part.last)}; the rest is hatched.`
      : "A record that is noise and rounding only is level here; steps, bursts and slopes are the capture's.",
  ];
  const hatched = [
    { from: 0, to: part.first, label: "outside the fitted stretch" },
    { from: part.last, to: record.codes.length - 1, label: "outside the fitted stretch" },
  ].filter((h) => h.to > h.from);
  return {
    spec: {
      id: figureId("residual", index),
      title: `What the sine leaves: ${spec.name}`,
      caption: parts.filter((p) => p !== "").join(" "),
      x: { quantity: "reading", unit: "", whole: true },
      y: { quantity: "difference", unit: "LSB" },
      series: [series],
      hatched,
      group: figureId("readings", index),
    },
    table: blocks(low, high, each, part, `What the sine leaves of ${spec.name}`),
  };
}

function blocks(
  low: Float64Array,
  high: Float64Array,
  each: number,
  part: SinePart,
  caption: string,
): FigureEntry["table"] {
  const join = Math.ceil(low.length / 16);
  const rows: string[][] = [];
  for (let i = 0; i < low.length; i += join) {
    const known = (v: Float64Array): Float64Array => v.subarray(i, i + join).filter(Number.isFinite);
    const lo = known(low).reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
    const hi = known(high).reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    const from = part.first + i * each;
    rows.push([
      `${counted(from)} … ${counted(Math.min(part.last, from + join * each - 1))}`,
      plain(lo, 4),
      plain(hi, 4),
    ]);
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

function foldedFigure({ record, spec }: CaptureScore, fitted: Fitted, index: number): FigureEntry {
  const { fit, part, broken } = fitted;
  const codes = record.codes.subarray(0, MOST_FOLDED);
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
    const { low, high } = fitted.envelopes.codes;
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
      caption: `${n < record.codes.length ? "The first " : ""}${counted(n, "reading")} of ${plain(n * fit.cyclesPerReading, 5)} periods, placed by their phase.${
        broken
          ? ` The sine is that of readings ${counted(part.first)} to ${counted(part.last)}; where readings were lost the phase jumps, and the other stretches lie beside it.`
          : short
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
function foldedResidualFigure({ spec }: CaptureScore, fitted: Fitted, index: number): FigureEntry {
  const { fit, part } = fitted;
  const { railed, leftOverPeriod } = fitted.envelopes;
  const { low, high, mean } = leftOverPeriod;
  const n = Math.min(MOST_FOLDED, part.last - part.first + 1);
  const slices = mean.length;
  const x = { from: 0.5 / slices, step: 1 / slices, count: slices };
  const rms = Math.sqrt(mean.filter(Number.isFinite).reduce((s, v) => s + v * v, 0) / slices);
  // A mean of k readings scatters by 1/√k of what a reading does.
  const chance = fit.residualRms / Math.sqrt(n / slices);
  const repeating = Math.sqrt(Math.max(0, rms ** 2 - chance ** 2));
  const periods = n * fit.cyclesPerReading;
  const verdict =
    periods < 2
      ? `The record holds ${plain(periods, 3)} periods: too few to tell what repeats every period from what happened once.`
      : rms > 1.5 * chance
        ? `The mean of what is left does not vanish: ${plain(repeating, 2)} LSB rms of it repeats every period. That part is distortion, the converter's or the source's; the band about it is noise and rounding.`
        : `The mean of what is left, ${plain(rms, 2)} LSB rms, is no more than ${counted(Math.round(n / slices))} readings a slice leave by chance (${plain(chance, 2)} LSB): nothing repeats that could be told from noise.`;
  return {
    spec: {
      id: figureId("folded-residual", index),
      title: `What the sine leaves, over one period: ${spec.name}`,
      caption: `${verdict}${railed ? " Readings at the end codes are left out." : ""}`,
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
