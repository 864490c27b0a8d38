import type { Column } from "../lib/compare/columns.ts";
import { resolutionsDiffer } from "../lib/compare/compare.ts";
import { pairCaptures } from "../lib/compare/pairCaptures.ts";
import type { ResultCapture } from "../lib/result.ts";
import type { FigureSpec, SeriesSpec, SeriesStyle } from "./figureSpec.ts";
import { codeCurve } from "./figures/codeCurve.ts";
import { plain, prefixFor } from "./number.ts";

const STYLES: readonly SeriesStyle[] = ["main", "second", "third", "reference"];
/** More curves than this in one drawing cannot be told apart. */
export const MOST_OVERLAID = STYLES.length;

/** The same capture in each column that has it, each with its column's name and look. */
export interface Overlaid {
  readonly label: string;
  readonly style: SeriesStyle;
  readonly capture: ResultCapture;
}

/** Captures that belong over each other: each of the reference's with its partner in every other column. */
export function overlaidCaptures(columns: readonly Column[]): Overlaid[][] {
  const shown = columns.slice(0, MOST_OVERLAID);
  const reference = shown[0]?.captures ?? [];
  const partners = shown.map((c) => pairCaptures(reference, c.captures).pairs);
  return reference.map((capture) =>
    shown.flatMap((column, i): Overlaid[] => {
      const partner = i === 0 ? capture : partners[i]!.find((p) => p.first === capture)?.second;
      return partner === undefined ? [] : [{ label: column.label, style: STYLES[i]!, capture: partner }];
    }),
  );
}

/** INL, DNL, spectrum and noise of each group of captures, laid over each other; only where at least two of them have the curve. */
export function overlayFigures(groups: readonly (readonly Overlaid[])[]): FigureSpec[] {
  return groups.flatMap((group, i) =>
    [curveOverCodes("inl", group, i), curveOverCodes("dnl", group, i), spectra(group, i), noises(group, i)].filter(
      (f) => f !== null,
    ),
  );
}

function curveOverCodes(which: "inl" | "dnl", group: readonly Overlaid[], index: number): FigureSpec | null {
  const having = group.filter((o) => (o.capture.transitions?.[which] ?? []).some((v) => v !== null));
  if (having.length < 2) return null;
  const volts = having.some((o) => resolutionsDiffer(having[0]!.capture, o.capture));
  const largestLsb = Math.max(...having.map((o) => o.capture.converter.scale.lsb));
  const size = Math.max(...having.map((o) => peak(o, which))) * largestLsb;
  const y = volts ? prefixFor(size, "V") : { factor: 1, unit: "LSB" };
  const series = having.map((o): SeriesSpec => {
    const { codes, [which]: values } = o.capture.transitions!;
    const { converter } = o.capture;
    const factor = volts ? converter.scale.lsb / y.factor : 1;
    const curve = codeCurve(
      o.label,
      o.style,
      0,
      Float64Array.from(values, (v) => (v === null ? Number.NaN : v * factor)),
    );
    if (!("count" in curve.x)) return curve;
    // The codes are evenly spaced, thinned or not; over volts they stand at their ideal input.
    const stride = codes.length > 1 ? codes[1]! - codes[0]! : 1;
    const at = (i: number): number => {
      const code = codes[0]! + i * stride;
      return volts ? converter.low + (code + converter.scale.firstTransition - 1) * converter.scale.lsb : code;
    };
    return { ...curve, x: { from: at(curve.x.from), step: at(curve.x.step) - at(0), count: curve.x.count } };
  });
  const name = which.toUpperCase();
  const peaks = having.map((o) => {
    const lsb = peak(o, which);
    const said = volts
      ? `${plain((lsb * o.capture.converter.scale.lsb) / y.factor, 3)} ${y.unit}`
      : `${plain(lsb, 3)} LSB`;
    return `${o.label} up to ${said}`;
  });
  return {
    id: `${which}-over-${index + 1}`,
    title: `${name} over each other: ${having[0]!.capture.name}`,
    caption: `Largest magnitude: ${peaks.join("; ")}.${which === "inl" ? " Where INL is positive a converter reads low." : ""}`,
    x: volts ? { quantity: "input", unit: "V" } : { quantity: "code", unit: "", whole: true },
    y: { quantity: name, unit: y.unit },
    series,
    group: `over-${index + 1}-${volts ? "volts" : "codes"}`,
  };
}

function peak(o: Overlaid, which: "inl" | "dnl"): number {
  return (o.capture.transitions?.[which] ?? []).reduce<number>((max, v) => Math.max(max, Math.abs(v ?? 0)), 0);
}

function spectra(group: readonly Overlaid[], index: number): FigureSpec | null {
  const having = group.filter((o) => (o.capture.spectrum?.levels.length ?? 0) > 1);
  if (having.length < 2 || new Set(having.map((o) => o.capture.spectrum!.unit)).size > 1) return null;
  const inHertz = having[0]!.capture.spectrum!.unit === "Hz";
  const highest = Math.max(...having.map((o) => o.capture.spectrum!.frequencies.at(-1) ?? 0));
  const x = inHertz ? prefixFor(highest, "Hz") : { factor: 1, unit: "cycles a reading" };
  const floors = having.flatMap((o) => {
    const thd = o.capture.metrics.thd?.value;
    return thd == null ? [] : [`${o.label} THD ${plain(thd, 4)} dBc`];
  });
  return {
    id: `spectrum-over-${index + 1}`,
    title: `Spectra over each other: ${having[0]!.capture.name}`,
    caption: `The largest line of each group of bins. Lines that stand out in one only are its harmonics or interference${floors.length > 0 ? `; ${floors.join(", ")}` : ""}. The floor of a longer record lies lower in each bin.`,
    x: { quantity: "frequency", unit: x.unit },
    y: { quantity: "level", unit: "dBFS" },
    series: having.map((o) => ({
      kind: "line" as const,
      name: o.label,
      style: o.style,
      x: o.capture.spectrum!.frequencies.map((f) => f / x.factor),
      y: o.capture.spectrum!.levels,
    })),
  };
}

function noises(group: readonly Overlaid[], index: number): FigureSpec | null {
  const having = group.filter((o) => (o.capture.codeCounts?.codes.length ?? 0) > 0);
  if (having.length < 2) return null;
  const volts = having.some((o) => resolutionsDiffer(having[0]!.capture, o.capture));
  const spread = Math.max(
    ...having.map((o) => {
      const { codes } = o.capture.codeCounts!;
      return (Math.max(...codes) - Math.min(...codes) + 1) * o.capture.converter.scale.lsb;
    }),
  );
  const x = volts ? prefixFor(spread, "V") : { factor: 1, unit: "LSB" };
  const series = having.map((o): SeriesSpec => {
    const { codes, counts } = o.capture.codeCounts!;
    const total = counts.reduce((s, c) => s + c, 0);
    const mean = codes.reduce((s, code, i) => s + code * counts[i]!, 0) / total;
    const unit = volts ? o.capture.converter.scale.lsb / x.factor : 1;
    const sorted = codes.map((code, i) => [code, counts[i]!] as const).sort((a, b) => a[0] - b[0]);
    // A share a unit of width, so that wide and narrow codes enclose the same area; with an empty code at either end.
    const padded = [[sorted[0]![0] - 1, 0] as const, ...sorted, [sorted.at(-1)![0] + 1, 0] as const];
    return {
      kind: "line",
      name: o.label,
      style: o.style,
      x: padded.map(([code]) => (code - mean) * unit),
      y: padded.map(([, count]) => (100 * count) / total / unit),
    };
  });
  return {
    id: `noise-over-${index + 1}`,
    title: `Noise over each other: ${having[0]!.capture.name}`,
    caption: "How the readings of a steady input spread about their mean; the narrower one is the quieter.",
    x: { quantity: "from the mean", unit: x.unit },
    y: { quantity: "readings", unit: `% per ${x.unit}` },
    series,
  };
}
