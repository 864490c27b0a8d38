import type { Volts } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import { converterLsb } from "./converterLsb.ts";
import type { Finding } from "./finding.ts";
import { say } from "./say.ts";
import { statedLimits } from "./statedLimits.ts";

/**
 * What a converter in order may add of its own, so that its gain and offset error are measured and not blamed on the source: 1.5 % of gain,
 * half a per cent of the range or 6 LSB of offset (INL of some LSB included), whichever is more, but of few bits no more than 1.6 % of the range. Beyond what data sheets of ordinary
 * converters state.
 */
const CONVERTER_GAIN = 0.015;
const CONVERTER_OFFSET = { ofRange: 0.005, lsb: 6, most: 0.016 };

export interface Levels {
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
