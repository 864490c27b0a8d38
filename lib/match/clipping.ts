import type { CaptureRecord } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { clippedSteps } from "./clippedSteps.ts";
import { compressedSine } from "./compressedSine.ts";
import type { Detector, MatchContext } from "./context.ts";
import type { Finding } from "./finding.ts";
import { LINE_METRICS, SHAPE_METRICS, STEADY_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import { shortEnds } from "./shortEnds.ts";
import { smallRatio } from "./smallRatio.ts";
import type { Survey } from "./survey.ts";

/** Widths of a plateau that are looked for, codes: a quiet one, and noisier ones. */
const PLATEAUS = [2, 6, 20];

/** More clusters of phases than this lie close enough. */
const MOST_CLUSTERS = 40;
/** Phases that a plateau holds at least where the readings come back to a few; a sine that is not flattened has up to two at its very end. */
const PHASES_ON_PLATEAU = 2.5;

/** A signal that is flattened: at the converter's rails, or by something before it. */
export const clipping: Detector = (context) => {
  switch (context.record.stimulus?.kind) {
    case "sine":
      return clippedSine(context);
    case "ramp":
    case "triangle":
      return clippedRamp(context);
    case "steady":
      return clippedLevel(context);
    case "steps":
      return clippedSteps(context);
    default:
      return [];
  }
};

/** Whether the bench itself says that the stimulus passes the converter's ends: then the rails are meant. */
function overdriveStated(record: CaptureRecord): boolean {
  const { stimulus, scale } = record;
  if (stimulus?.kind !== "sine" || stimulus.amplitude === null || stimulus.offset === null) return false;
  return (
    stimulus.offset + stimulus.amplitude > scale.low + scale.fsr || stimulus.offset - stimulus.amplitude < scale.low
  );
}

/** One end of a sine that is flattened. */
export interface ClippedEnd {
  readonly side: "top" | "bottom";
  /** The converter's own rail; else something before it saturates. */
  readonly isRail: boolean;
  readonly edge: number;
  readonly readings: number;
  /** How far the sine fitted without the flattened readings goes on, codes and share of its amplitude. */
  readonly beyond: number;
  readonly share: number;
  /** Codes that the plateau covers. */
  readonly width: number;
}

/**
 * The flattened ends of a sine. One counts where many more readings stand at it than a sine of that size leaves there, and the sine fitted without them
 * goes on beyond. For a sine that ends x codes into a window, the counts of the window and of the w codes before it are as √x to √(x + w) − √x, so that
 * x = w·r²/(2r + 1), r the ratio of the counts; an unclipped sine has x at most the window's own width. Three standard deviations of the counts
 * and of the noise are allowed for; false alarms then need both this and the fit to be wrong (below 1e-5).
 */
export function clippedEnds(record: CaptureRecord, seen: Survey, fit: SineFit | null): ClippedEnd[] {
  const { scale, codes } = record;
  if (record.stimulus?.kind !== "sine" || fit === null || seen.counts === null || seen.readings < 40) return [];
  const ends: ClippedEnd[] = [];
  const ratio = smallRatio(fit.cyclesPerReading, codes.length, 3 * fit.standard.cyclesPerReading);
  const phases = ratio?.[1] ?? clusters(fit.cyclesPerReading, codes.length);
  const least = phases === null ? 4 : Math.max(4, (PHASES_ON_PLATEAU * codes.length) / phases);
  for (const side of ["top", "bottom"] as const) {
    const edge = side === "top" ? seen.max : seen.min;
    const atRail = side === "top" ? edge >= scale.topCode : edge <= 0;
    // Of a few phases, or a few readings, a pile at one code says nothing.
    const plateaus = codes.length < 100 || seen.distinct < 40 ? [] : PLATEAUS;
    // The noise on a plateau is not known beforehand: several widths are tried; one just below a rail may reach it.
    const places = [
      ...(atRail ? [{ width: 1, isRail: true }] : []),
      ...plateaus.map((width) => ({ width, isRail: false })),
    ];
    for (const { width, isRail } of places) {
      const { there, depth } = pileUp(seen.counts, side, width, codes.length);
      if (isRail ? there < 2 : there < least || !(depth > 1.5 * width)) continue;
      const [floor, ceiling] = [seen.min + width, seen.max - width];
      const without = isRail
        ? fit
        : fitSine(codes, { usable: { floor: floor - 1, ceiling: ceiling + 1 }, frequency: fit.cyclesPerReading });
      if (without === null) continue;
      const noise = without.residualRms;
      const peak = without.offset + (side === "top" ? without.amplitude : -without.amplitude);
      const beyond = side === "top" ? peak - edge - 0.5 : edge - 0.5 - peak;
      const standard = Math.hypot(without.standard.amplitude, without.standard.offset);
      // On a rail the sine that goes on must have left about as many readings there as stand there.
      const arc = Math.acos(Math.max(-1, 1 - beyond / without.amplitude)) / Math.PI;
      if (isRail ? there < 0.5 * arc * codes.length : depth < 1.5 * width + 2 * noise) continue;
      // More readings on a rail than a sine that just reaches it could leave are evidence of their own.
      const touching = (codes.length * Math.acos(Math.max(-1, 1 - (1 + noise) / without.amplitude))) / Math.PI;
      const deviations = !isRail ? 4.5 : there > touching + 4 * Math.sqrt(touching) ? 1 : 3;
      if (!(beyond > 2 + noise * deviations + 5 * standard)) continue;
      if (!isRail && beyond < 0.005 * without.amplitude) continue;
      ends.push({ side, isRail, edge, readings: there, beyond, share: beyond / without.amplitude, width });
      break;
    }
  }
  return ends;
}

/** Clusters into which the phases fall of a tone near a simple ratio of the rate, that fill less than half of what lies between them; null where there are none. */
function clusters(cycles: number, readings: number): number | null {
  for (let q = 2; q <= MOST_CLUSTERS; q++) if (Math.abs(cycles * q - Math.round(cycles * q)) * readings < 0.5) return q;
  return null;
}

function clippedSine(context: MatchContext): Finding[] {
  const { record, ends } = context;
  const { codes, spec } = record;
  if (ends.length === 0) return softlyClipped(context);
  const sides = ends.map(
    ({ side, isRail, edge, readings }) =>
      `${say.count(readings)} at ${isRail ? (side === "top" ? "the top code" : "code 0") : `code ${say.count(edge)}`}`,
  );
  const readings = ends.reduce((sum, e) => sum + e.readings, 0);
  const overdrive = Math.max(...ends.map((e) => e.share));
  const inside = ends.some((e) => !e.isRail);
  const meant = !inside && overdriveStated(record);
  if (meant && spec.use !== null && !spec.use.includes("tone")) return [];
  const share = readings / codes.length;
  return [
    {
      id: "clipped",
      severity: meant ? "note" : "error",
      text: `The sine is flattened: ${say.ratio(share)} of the readings stand at its ends (${sides.join(", ")}), and fitted without them it would go on by ${say.ratio(overdrive)} of its amplitude.`,
      cause: inside
        ? "Something before the converter saturates (a buffer without headroom, a protection diode, a source at its limit)."
        : meant
          ? "The stated sine is larger than the range, as a histogram wants it; a tone cannot be judged from it."
          : "The signal is larger than the converter's range, or its offset is wrong.",
      advice: inside
        ? "Look at the pin with an oscilloscope; lower the amplitude or give the buffer more supply."
        : meant
          ? "Give this capture `use: [histogram]` and take another one a little below full scale for the tone."
          : "Lower the amplitude until about 2 % of the range is left at both ends, or set the offset to mid-range.",
      readings: [[0, codes.length - 1]],
      nulls: inside ? [...TONE_METRICS, ...LINE_METRICS, ...SHAPE_METRICS] : TONE_METRICS,
    },
  ];
}

/** Peaks that fall short without a plateau. */
function softlyClipped(context: MatchContext): Finding[] {
  const compressed = compressedSine(context);
  if (compressed === null || context.fit === null) return [];
  const { top, bottom } = compressed;
  const { amplitude } = context.fit;
  const told = [
    ...(top > 0 ? [`its top by ${say.lsb(top)} (${say.ratio(top / amplitude)} of its amplitude)`] : []),
    ...(bottom > 0 ? [`its bottom by ${say.lsb(bottom)} (${say.ratio(bottom / amplitude)})`] : []),
  ];
  return [
    {
      id: "clipped",
      severity: "error",
      text: `The sine is compressed towards its ${top > 0 && bottom > 0 ? "peaks" : "peak"}: it falls short at ${told.join(" and ")}.`,
      cause:
        "Something before the converter begins to saturate (a buffer short of headroom, a protection diode, a source at its limit).",
      advice: "Look at the pin with an oscilloscope; lower the amplitude or give the buffer more supply.",
      readings: [[0, context.record.codes.length - 1]],
      nulls: [...TONE_METRICS, ...LINE_METRICS, ...SHAPE_METRICS],
    },
  ];
}

/** Readings in the outermost `width` codes, and how deep into them a sine would have to reach for that many (lower bound, three standard deviations). */
function pileUp(
  counts: Uint32Array,
  side: "top" | "bottom",
  width: number,
  readings: number,
): { there: number; depth: number } {
  const at = (i: number): number => counts[side === "top" ? counts.length - 1 - i : i] ?? 0;
  let there = 0;
  for (let i = 0; i < width; i++) there += at(i);
  const wanted = Math.max(30, Math.min(there, readings / 20));
  let before = 0;
  let w = 0;
  const most = Math.floor(counts.length / 3);
  while ((before < wanted || w < 4 * width) && w < most) before += at(width + w++);
  if (before === 0 || w === 0) return { there, depth: 0 };
  const ratio = (there / before) * Math.max(0, 1 - 3 * Math.sqrt(1 / there + 1 / before) * 0.5);
  return { there, depth: (w * ratio * ratio) / (2 * ratio + 1) };
}

/** Ends of a ramp or triangle inside the range that hold far more readings than the codes before them. */
export function plateaus(record: CaptureRecord, seen: Survey): { edge: number; readings: number }[] {
  const { scale, codes } = record;
  const { counts } = seen;
  if (counts === null || counts.length < 64 || codes.length < 256) return [];
  const found: { edge: number; readings: number }[] = [];
  for (const side of ["top", "bottom"] as const) {
    const edge = side === "top" ? seen.max : seen.min;
    if (side === "top" ? edge >= scale.topCode : edge <= 0) continue;
    const at = (i: number): number => counts[side === "top" ? counts.length - 1 - i : i] ?? 0;
    const width = Math.min(8, counts.length >> 4);
    let there = 0;
    for (let i = 0; i < width; i++) there += at(i);
    const typical = (codes.length - there) / (counts.length - width);
    const expected = typical * width;
    // A clean ramp's last codes may be cut or wide; a plateau holds more than a per cent of the record.
    if (there < Math.max(1.5 * expected, expected + 6 * Math.sqrt(expected + 1) + 0.015 * codes.length)) continue;
    found.push({ edge, readings: there });
  }
  return found;
}

/** A ramp that stops short inside the range. */
function clippedRamp(context: MatchContext): Finding[] {
  const { record, seen } = context;
  const { codes } = record;
  const found = plateaus(record, seen);
  const short = found.length === 0 ? shortEnds(context) : [];
  if (found.length === 0 && short.length === 0) return [];
  const readings = [...found, ...short].reduce((sum, f) => sum + f.readings, 0);
  const told = [
    ...found.map((f) => `${say.count(f.readings)} readings at code ${say.count(f.edge)}`),
    ...short.map((f) => `its ${f.side} end falls short of its straight part by ${say.lsb(f.short)} on average`),
  ];
  return [
    {
      id: "clipped",
      severity: "error",
      text: `The ${record.stimulus?.kind} is flattened inside the range: ${told.join(" and ")}, ${say.ratio(readings / codes.length)} of the record.`,
      cause: "Something before the converter saturates, or the source stopped short of its end.",
      advice: "Look at the pin with an oscilloscope; give the buffer more headroom.",
      readings: [[0, codes.length - 1]],
      nulls: [...LINE_METRICS, ...SHAPE_METRICS],
    },
  ];
}

/** A level at or beyond an end of the range: its noise and mean are cut off. One reading in a hundred may touch a rail. */
function clippedLevel({ record, seen }: MatchContext): Finding[] {
  const readings = seen.atBottom + seen.atTop;
  if (readings <= 0.01 * seen.readings || seen.below + seen.above > 0) return [];
  const where = seen.atTop > seen.atBottom ? `the top code ${say.count(record.scale.topCode)}` : "code 0";
  return [
    {
      id: "clipped",
      severity: "error",
      text: `${say.ratio(readings / seen.readings)} of the readings stand at ${where}: the level lies at the end of the range or beyond.`,
      cause: "The level is outside the converter's range, or the input is open or shorted to a rail.",
      advice: "Apply a level inside the range; check the connection at the pin.",
      readings: [[0, record.codes.length - 1]],
      nulls: STEADY_METRICS,
    },
  ];
}
