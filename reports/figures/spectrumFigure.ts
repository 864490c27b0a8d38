import type { LimitRow } from "../../lib/judge/figure.ts";
import type { SpectrumCurve } from "../../lib/measure/measurement.ts";
import type { CaptureScore } from "../../lib/session.ts";
import { columnEnvelope, spectrumEdges } from "../envelope.ts";
import type { FigureEntry } from "../figure.ts";
import type { MarkSpec, SeriesSpec } from "../figureSpec.ts";
import { counted, plain, prefixFor, quantity, toPlace } from "../number.ts";
import { figureId, MOST_POINTS } from "./captureFigure.ts";

/** The spectrum with its tone and harmonics named. */
export function spectrumFigure(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry | null {
  const { spectrum } = capture.curves;
  if (spectrum === undefined || spectrum.level.length < 2) return null;
  const { level, binWidth, inHertz } = spectrum;
  const top = (level.length - 1) * binWidth;
  const { factor, unit } = inHertz ? prefixFor(top, "Hz") : { factor: 1, unit: "cycles/reading" };
  const series: SeriesSpec =
    level.length <= MOST_POINTS
      ? {
          kind: "line",
          name: "level",
          style: "main",
          x: { from: 0, step: binWidth / factor, count: level.length },
          y: level,
        }
      : reduced(spectrum, factor);
  const marks: MarkSpec[] = [
    {
      x: spectrum.fundamental.frequency / factor,
      y: spectrum.fundamental.level,
      label: "tone",
      text: `tone, ${toPlace(spectrum.fundamental.level, 2)} dBFS`,
    },
    ...spectrum.harmonics
      .filter((h) => h.note === "measured" && h.level !== null)
      .map((h) => ({
        x: h.frequency / factor,
        y: spectrum.fundamental.level + (h.level as number),
        label: `H${h.order}`,
        text: `harmonic ${h.order}, ${toPlace(h.level as number, 1)} dBc`,
      })),
  ];
  return {
    spec: {
      id: figureId("spectrum", index),
      title: `Spectrum: ${capture.spec.name}`,
      caption: sentence(capture, spectrum),
      x: { quantity: "frequency", unit, switchable: true },
      // The dips of single lines far below the floor say nothing and would take half the height.
      y: {
        quantity: "level",
        unit: "dBFS",
        range: [Math.floor((spectrum.noiseFloorPerBin - 25) / 10) * 10, highest(spectrum) + 6],
      },
      series: [
        series,
        {
          kind: "line",
          name: "noise floor, one bin",
          style: "reference",
          x: [binWidth / factor, top / factor],
          y: [spectrum.noiseFloorPerBin, spectrum.noiseFloorPerBin],
        },
      ],
      marks,
      // What a limit on SFDR forbids: any line nearer to the tone than this.
      limits: limits
        .filter((l) => l.metric === "sfdr" && l.bound === "min")
        .map((l) => ({ y: spectrum.fundamental.level - l.limit, label: `SFDR limit ${plain(l.limit)} dBc` })),
      group: inHertz ? `frequency-${unit}` : "cycles",
    },
    table: harmonicTable(capture, spectrum),
    wide: true,
  };
}

function highest({ level, fundamental }: SpectrumCurve): number {
  return level.reduce((a, b) => Math.max(a, b), fundamental.level);
}

function reduced({ level, binWidth }: SpectrumCurve, factor: number): SeriesSpec {
  const edges = spectrumEdges(level.length, 1200);
  const { low, high } = columnEnvelope(level, edges);
  const x = edges.slice(0, -1).map((e, i) => ((e + edges[i + 1]! - 1) / 2) * (binWidth / factor));
  return { kind: "band", name: "level, smallest to largest line", style: "main", x, low, high };
}

function frequencyText(f: number, spectrum: SpectrumCurve): string {
  return spectrum.inHertz ? quantity(f, "Hz", 6) : `${plain(f, 6)} cycles/reading`;
}

function sentence(capture: CaptureScore, spectrum: SpectrumCurve): string {
  const { fundamental, harmonics, noiseFloorPerBin, level } = spectrum;
  const tone = `The tone stands at ${frequencyText(fundamental.frequency, spectrum)}, ${toPlace(fundamental.level, 1)} dBFS.`;
  const measured = harmonics.filter((h) => h.level !== null && h.note === "measured");
  const worst = measured.reduce<(typeof measured)[number] | null>(
    (a, h) => (a === null || (h.level as number) > (a.level as number) ? h : a),
    null,
  );
  const largest =
    worst === null
      ? " No harmonic stands above its own noise."
      : ` The largest harmonic is the ${ordinal(worst.order)} at ${frequencyText(worst.frequency, spectrum)}, ${toPlace(worst.level as number, 1)} dBc.`;
  const sfdr = capture.figures.sfdr?.value ?? null;
  const other =
    sfdr !== null && (worst === null || -sfdr > (worst.level as number) + 1)
      ? ` The largest line of all, ${toPlace(-sfdr, 1)} dBc, is no harmonic: look for mains, clocks or a neighbouring circuit.`
      : "";
  const window =
    spectrum.window === "rectangular" || spectrum.window === "none" ? "no window" : `${spectrum.window} window`;
  const floor = ` Noise lies at ${toPlace(noiseFloorPerBin, 1)} dBFS a line, over ${counted(level.length)} lines (${window}${spectrum.segments > 1 ? `, ${counted(spectrum.segments)} segments` : ""}).`;
  return tone + largest + other + floor;
}

function ordinal(n: number): string {
  return (
    ["", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"][n] ?? `${n}th`
  );
}

function harmonicTable(capture: CaptureScore, spectrum: SpectrumCurve): FigureEntry["table"] {
  return {
    caption: `Tone and harmonics of ${capture.spec.name}; frequencies above half the sampling rate are folded back`,
    columns: [
      { head: "line" },
      { head: spectrum.inHertz ? "frequency" : "cycles/reading", align: "number" },
      { head: "level, dBc", align: "number" },
      { head: "interval, dBc", align: "number" },
      { head: "remark" },
    ],
    rows: [
      [
        "tone",
        frequencyText(spectrum.fundamental.frequency, spectrum),
        "0",
        "",
        `${toPlace(spectrum.fundamental.level, 2)} dBFS`,
      ],
      ...spectrum.harmonics.map((h) => [
        `H${h.order}`,
        frequencyText(h.frequency, spectrum),
        h.level === null ? "–" : toPlace(h.level, 1),
        h.low === null && h.high === null
          ? ""
          : h.low === null
            ? `≤ ${toPlace(h.high as number, 1)}`
            : h.high === null
              ? `≥ ${toPlace(h.low, 1)}`
              : `${toPlace(h.low, 1)} … ${toPlace(h.high, 1)}`,
        h.note,
      ]),
    ],
  };
}
