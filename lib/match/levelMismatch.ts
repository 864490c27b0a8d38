import type { Volts } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import type { Detector } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import type { Finding } from "./finding.ts";
import { levelOrder } from "./levelOrder.ts";
import { levelsOffLine } from "./levelsOffLine.ts";
import { robustDeviation } from "./robust.ts";
import { say } from "./say.ts";
import { statedLimits } from "./statedLimits.ts";
import { steppedVolts } from "./steppedLevels.ts";
import { movingCodes } from "./sweepModel.ts";

/**
 * What a converter in order may add of its own, so that its gain and offset error are measured and not blamed on the source: 1.5 % of gain,
 * half a per cent of the range or 6 LSB of offset (INL of some LSB included), whichever is more, but of few bits no more than 1.2 % of the range. Beyond what data sheets of ordinary
 * converters state.
 */
const CONVERTER_GAIN = 0.015;
const CONVERTER_OFFSET = { ofRange: 0.005, lsb: 6, most: 0.012 };

interface Levels {
  /** In codes. */
  readonly amplitude: number | null;
  readonly offset: number | null;
  readonly amplitudeStandard: number;
  readonly offsetStandard: number;
  /** In volts at the pin; for a ramp half its span and its middle. */
  readonly statedAmplitude: Volts | null;
  readonly statedOffset: Volts | null;
  readonly deviations: number;
}

/** Amplitude and offset against what is stated: beyond the source's limits, the converter's allowance and the record's own scatter. */
export function levelMismatch(record: CaptureRecord, levels: Levels): Finding[] {
  const { scale, stimulus, codes } = record;
  if (stimulus === null) return [];
  const found: Finding[] = [];
  const readings = [[0, Math.max(0, codes.length - 1)]] as const;
  const limits = statedLimits(stimulus, levels.statedAmplitude ?? 0, levels.statedOffset ?? 0);
  const what = { sine: "amplitude", ramp: "half span", triangle: "half span", steady: "level", steps: "half span" }[
    stimulus.kind
  ];
  if (levels.amplitude !== null && levels.statedAmplitude !== null && levels.statedAmplitude !== 0) {
    const stated = Math.abs(levels.statedAmplitude);
    const seen = levels.amplitude * scale.lsb;
    const allowed =
      limits.amplitude +
      CONVERTER_GAIN * stated +
      (levels.deviations * levels.amplitudeStandard + 2 * converterLsb(record)) * scale.lsb;
    if (Math.abs(seen - stated) > allowed)
      found.push({
        id: "amplitude-mismatch",
        severity: "warning",
        text: `The ${what} is ${say.volts(seen)} at the pin, but ${say.volts(stated)} is stated: ${say.ratio(Math.abs(seen / stated - 1))} ${seen > stated ? "more" : "less"}, where source and converter account for ${say.ratio(allowed / stated)}.`,
        cause: amplitudeCause(seen / stated),
        advice:
          "Measure the amplitude at the pin; gain and total error are those of the chain against the stated stimulus.",
        readings,
        nulls: [],
      });
  }
  if (levels.offset !== null && levels.statedOffset !== null) {
    const stated = levels.statedOffset;
    const seen = scale.low + (levels.offset + scale.firstTransition - 0.5) * scale.lsb;
    const allowed =
      limits.offset +
      CONVERTER_GAIN * Math.abs(stated - scale.low) +
      Math.max(
        CONVERTER_OFFSET.ofRange * scale.fsr,
        Math.min(CONVERTER_OFFSET.lsb * converterLsb(record) * scale.lsb, CONVERTER_OFFSET.most * scale.fsr),
      ) +
      levels.deviations * levels.offsetStandard * scale.lsb;
    if (Math.abs(seen - stated) > allowed)
      found.push({
        id: "offset-mismatch",
        severity: "warning",
        text: `The ${stimulus.kind === "steady" ? "level" : "middle"} is ${say.volts(seen)} at the pin, but ${say.volts(stated)} is stated: ${say.volts(Math.abs(seen - stated))} ${seen > stated ? "more" : "less"}, where source and converter account for ${say.volts(allowed)}.`,
        cause:
          "The source's offset, the bias network or the common ground is not what the bench file says, or the reference is off.",
        advice: "Measure the DC level at the pin against the converter's own ground.",
        readings,
        nulls: [],
      });
  }
  return found.length === 2 && isOneGain(record, levels) ? [found[0]!] : found;
}

/**
 * Whether an error of gain alone explains both: the chain then stands right at some level that the stimulus passes (its end, its middle, ground), while a shift
 * moves all levels. Of a sine amplitude and offset are set apart, and each is told.
 */
function isOneGain({ scale, stimulus }: CaptureRecord, levels: Levels): boolean {
  const { amplitude, statedAmplitude, offset, statedOffset } = levels;
  if (stimulus?.kind === "sine" || amplitude === null || offset === null || !statedAmplitude || statedOffset === null)
    return false;
  const gain = (amplitude * scale.lsb) / Math.abs(statedAmplitude) - 1;
  const shift = scale.low + (offset + scale.firstTransition - 0.5) * scale.lsb - statedOffset;
  const pivot = statedOffset - shift / gain;
  const [low, high] = [Math.min(0, statedOffset - Math.abs(statedAmplitude)), statedOffset + Math.abs(statedAmplitude)];
  const room = 0.1 * Math.abs(statedAmplitude);
  return pivot > low - room && pivot < high + room;
}

/** Ratios that usual mistakes give, within 4 %. */
function amplitudeCause(ratio: number): string {
  const near = (x: number): boolean => Math.abs(ratio / x - 1) < 0.04;
  if (near(2))
    return "Twice as much: a generator set for a 50 Ω load drives an open input, or peak was taken for peak to peak.";
  if (near(0.5))
    return "Half as much: a 50 Ω load on the generator, peak to peak taken for peak, or a divider that the bench file does not know.";
  if (near(Math.SQRT2)) return "√2 times as much: peak was set where rms is stated.";
  if (near(Math.SQRT1_2)) return "1/√2 times as much: rms was set where peak is stated.";
  return "The generator's setting or its load is not what the bench file says, or a divider or the reference is off.";
}

/** Ramp, triangle, steady and steps against their stated levels. */
export const otherMismatch: Detector = ({ record, seen, clean, triangle }) => {
  const { stimulus, codes, scale } = record;
  if (stimulus === null || codes.length < 16) return [];
  const top = scale.topCode;
  const base = { amplitudeStandard: 0, offsetStandard: 0, deviations: 5 };
  switch (stimulus.kind) {
    case "steady":
      // A level stated beyond the range stands at the rail, as it must.
      if (
        stimulus.voltage !== null &&
        isBeyond(stimulus.voltage, scale) &&
        seen.atBottom + seen.atTop > 0.5 * seen.readings
      )
        return [];
      return levelMismatch(record, {
        ...base,
        amplitude: null,
        statedAmplitude: null,
        offset: seen.mean,
        statedOffset: stimulus.voltage,
      });
    case "ramp": {
      // A ramp with pieces missing is steeper than it was; it says nothing about its ends.
      if (clean.length !== 1) return [];
      const { floor, ceiling } = movingCodes(record, seen);
      const line = lineOf(
        codes,
        (n) => n,
        (y) => y > floor && y < ceiling,
      );
      if (line === null) return [];
      return levelMismatch(record, {
        ...base,
        amplitude: Math.abs((line.slope * (codes.length - 1)) / 2),
        statedAmplitude: (stimulus.to - stimulus.from) / 2,
        offset: line.at((codes.length - 1) / 2),
        statedOffset: (stimulus.from + stimulus.to) / 2,
      });
    }
    case "triangle": {
      // The fitted triangle says it best, also beyond the rails and flattened ends; apexes are what is left where none follows.
      if (triangle !== null) {
        const standard = (2 * triangle.residualRms) / Math.sqrt(triangle.readings);
        return levelMismatch(record, {
          ...base,
          amplitude: triangle.amplitude,
          amplitudeStandard: standard,
          statedAmplitude: (stimulus.high - stimulus.low) / 2,
          offset: triangle.offset,
          offsetStandard: standard,
          statedOffset: (stimulus.high + stimulus.low) / 2,
        });
      }
      const bends: number[] = [];
      const moves: number[] = [];
      for (let n = 2; n < Math.min(codes.length, 20_000); n++) {
        bends.push(codes[n]! - 2 * codes[n - 1]! + codes[n - 2]!);
        moves.push(Math.abs(codes[n]! - codes[n - 1]!));
      }
      // Extremes of a record stick out by four deviations of its noise; an apex may fall between two readings.
      const noise = 4 * (robustDeviation(bends, 0) / Math.sqrt(6)) + 2;
      const out = noise + median(moves);
      if (out > 0.2 * (seen.max - seen.min)) return [];
      const [bottom, peak] = [seen.min + noise, seen.max - noise];
      const ends = { low: seen.atBottom > 0 ? null : bottom, high: seen.atTop > 0 ? null : peak };
      const [low, high] = [stimulus.low, stimulus.high];
      const level = { ...base, deviations: 1, amplitudeStandard: out, offsetStandard: out };
      if (ends.low !== null && ends.high !== null)
        return levelMismatch(record, {
          ...level,
          amplitude: (ends.high - ends.low) / 2,
          statedAmplitude: (high - low) / 2,
          offset: (ends.high + ends.low) / 2,
          statedOffset: (high + low) / 2,
        });
      // One end is on a rail; the other one still says where the triangle lies.
      const seenEnd = ends.low ?? ends.high;
      if (seenEnd === null) return [];
      return levelMismatch(record, {
        ...level,
        amplitude: null,
        statedAmplitude: null,
        offset: seenEnd,
        statedOffset: ends.low !== null ? low : high,
      });
    }
    case "steps": {
      // With readings missing the list does not line up any more.
      if (record.appliedVolts === null && clean.length !== 1) return [];
      const applied = steppedVolts(record);
      if (applied === null) return [];
      // Levels that are flattened, or not those stated, spoil the line.
      const off = levelsOffLine(record);
      if (off?.isEnd) return [];
      const order = off === null ? [] : levelOrder(record, off);
      if (order.length > 0) return order;
      const line = lineOf(
        codes,
        (n) => applied[n]!,
        (y) => y > 0 && y < top,
      );
      if (line === null) return [];
      const middle = scale.low + scale.fsr / 2;
      return levelMismatch(record, {
        ...base,
        amplitude: Math.abs(line.slope) * (scale.fsr / 2),
        statedAmplitude: scale.fsr / 2,
        offset: line.at(middle),
        statedOffset: middle,
      });
    }
    default:
      return [];
  }
};

function isBeyond(volts: Volts, scale: CaptureRecord["scale"]): boolean {
  return volts < scale.low || volts > scale.low + scale.fsr;
}

/** Least-squares line of the codes that `use` admits; null where fewer than 16 do or x does not vary. */
function lineOf(
  codes: Int32Array,
  x: (n: number) => number,
  use: (code: number) => boolean,
): { slope: number; at: (x: number) => number } | null {
  let count = 0;
  let mx = 0;
  let my = 0;
  let sxx = 0;
  let sxy = 0;
  for (let n = 0; n < codes.length; n++) {
    const y = codes[n]!;
    const v = x(n);
    if (!use(y) || !Number.isFinite(v)) continue;
    count++;
    const dx = v - mx;
    mx += dx / count;
    my += (y - my) / count;
    sxx += dx * (v - mx);
    sxy += dx * (y - my);
  }
  if (count < 16 || !(sxx > 0)) return null;
  const slope = sxy / sxx;
  return { slope, at: (v) => my + slope * (v - mx) };
}
