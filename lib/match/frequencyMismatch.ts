import type { Hertz, Ratio } from "../bench/units.ts";
import type { Detector, MatchContext } from "./context.ts";
import type { Finding } from "./finding.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { turnedByDistortion } from "./partOfCycle.ts";
import { CLOCK_ALLOWANCE } from "./sampleRate.ts";
import { say } from "./say.ts";

/** Standard deviations of the fitted frequency that are allowed for: 5.7e-7 of false alarms in a Gaussian. */
const ALLOWED_DEVIATIONS = 5;
/** Timing bits say nothing about the loop, and a converter's clock is often an RC oscillator. */
const TIMING_ALLOWANCE = 0.03;
/** A triangle's frequency has no stated limit, and decides nothing: what a function generator's dial may be off is let go. Common practice. */
const TRIANGLE_ALLOWANCE = 0.005;
/** Cycles without which a triangle's frequency leans on its stated one. */
const LEAST_CYCLES = 1;

/** A periodic signal as it was fitted. */
interface FittedFrequency {
  readonly cyclesPerReading: number;
  readonly standard: number;
  /** rms of what the fit leaves over the amplitude. */
  readonly left: Ratio;
  readonly readings: number;
}

/** A frequency that the bench file states otherwise, beyond the source's limit, the clock's and the fit's own scatter. */
export function frequencyMismatch(
  { record, rate, evidence }: MatchContext,
  what: "tone" | "triangle",
  stated: Hertz,
  accuracy: Ratio,
  { cyclesPerReading, standard, left, readings }: FittedFrequency,
): Finding[] {
  if (rate === null || rate.basis === "stimulus") return [];
  const cycles = stated / rate.value;
  const allowance = rate.basis === "timing" ? TIMING_ALLOWANCE : CLOCK_ALLOWANCE;
  const rateShare = rate.uncertainty === null ? 0 : rate.uncertainty / rate.value;
  const relative = accuracy + rateShare + allowance;
  const miss = Math.abs(cyclesPerReading - foldedFrequency(cycles));
  const allowed = cycles * relative + ALLOWED_DEVIATIONS * standard;
  if (
    !(miss > allowed) ||
    miss * readings < turnedByDistortion(left, Math.min(cyclesPerReading, 0.5 - cyclesPerReading) * readings)
  )
    return [];
  const found =
    evidence.stimulus === null ? cyclesPerReading * rate.value : (stated * rate.value) / evidence.stimulus.rate;
  const away = found / stated - 1;
  const basis = { stated: "as stated", timestamps: "by the time stamps", timing: "by the timing bits", stimulus: "" }[
    rate.basis
  ];
  return [
    {
      id: "frequency-mismatch",
      severity: "warning",
      text: `The ${what} lies at ${say.hertz(found)} with ${say.hertz(rate.value)} ${basis}, but ${say.hertz(stated)} is stated: ${say.ratio(Math.abs(away))} ${away > 0 ? "higher" : "lower"}, where ${say.ratio(Math.max(relative, allowed / cycles))} is allowed for.`,
      cause: "The generator's setting, or the sample rate, is not what the bench file says.",
      advice: `Read the generator's setting again; with the stated frequency the sample rate would be ${say.hertz((rate.value * stated) / found)}.`,
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
}

/** A triangle of another frequency than stated. */
export const triangleFrequency: Detector = (context) => {
  const { stimulus } = context.record;
  const { triangle } = context;
  if (stimulus?.kind !== "triangle" || stimulus.frequency === null || triangle?.period == null) return [];
  const { frequency } = triangle.period;
  const { readings, slope, residualRms, amplitude } = triangle;
  if (frequency * readings < LEAST_CYCLES) return [];
  // Each reading tells the phase to frequency·residual/slope turns; a line's slope over n of them scatters by √(12/n³).
  const standard = ((frequency * residualRms) / slope) * Math.sqrt(12 / readings ** 3);
  return frequencyMismatch(context, "triangle", stimulus.frequency, TRIANGLE_ALLOWANCE, {
    cyclesPerReading: frequency,
    standard,
    left: residualRms / amplitude,
    readings,
  });
};
