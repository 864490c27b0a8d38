import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Detector } from "./context.ts";
import type { Finding } from "./finding.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { levelMismatch } from "./levelMismatch.ts";
import { LINE_METRICS, SHAPE_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { CLOCK_ALLOWANCE } from "./sampleRate.ts";
import { say } from "./say.ts";

/** Standard deviations of a fitted parameter that are allowed for: 5.7e-7 of false alarms in a Gaussian. */
const ALLOWED_DEVIATIONS = 5;
/** Timing bits say nothing about the loop, and a converter's clock is often an RC oscillator. */
const TIMING_ALLOWANCE = 0.03;

/** A tone that is not where, or not of the size that, the bench file says. */
export const toneMismatch: Detector = (context) => {
  const { record, fit } = context;
  const { stimulus, codes } = record;
  if (stimulus?.kind !== "sine") return [];
  const readings = [[0, Math.max(0, codes.length - 1)]] as const;
  if (fit === null) {
    if (codes.length < 20) return [];
    return [
      {
        id: "amplitude-mismatch",
        severity: "error",
        text: `No tone stands out of the ${say.count(codes.length)} readings (codes ${say.count(context.seen.min)} to ${say.count(context.seen.max)}), but the bench file states a sine.`,
        cause:
          "The source is off, not connected, on another channel, or its frequency falls on 0 or half the sample rate.",
        advice: "Look at the pin with an oscilloscope; check the channel and the sample rate.",
        readings,
        nulls: [...TONE_METRICS, ...LINE_METRICS, ...SHAPE_METRICS],
      },
    ];
  }
  return [
    ...frequency(context, stimulus),
    ...aliased(context, stimulus),
    ...levelMismatch(record, {
      amplitude: fit.amplitude,
      offset: fit.offset,
      amplitudeStandard: fit.standard.amplitude,
      offsetStandard: fit.standard.offset,
      statedAmplitude: stimulus.amplitude,
      statedOffset: stimulus.offset,
      deviations: ALLOWED_DEVIATIONS,
    }),
  ];
};

type Sine = Extract<PinStimulus, { kind: "sine" }>;

function frequency({ record, fit, rate, evidence }: Parameters<Detector>[0], stimulus: Sine): Finding[] {
  const stated = stimulus.frequency;
  if (fit === null || stated === null || rate === null || rate.basis === "stimulus") return [];
  const cycles = stated / rate.value;
  const allowance = rate.basis === "timing" ? TIMING_ALLOWANCE : CLOCK_ALLOWANCE;
  const rateShare = rate.uncertainty === null ? 0 : rate.uncertainty / rate.value;
  const relative = stimulus.accuracy.frequency + rateShare + allowance;
  const miss = Math.abs(fit.cyclesPerReading - foldedFrequency(cycles));
  const allowed = cycles * relative + ALLOWED_DEVIATIONS * fit.standard.cyclesPerReading;
  // Distortion turns the phase of a stretch of few cycles by about its share of the amplitude, which the fit's standard uncertainty does not know.
  const turned = 0.003 + fit.residualRms / fit.amplitude / Math.max(1, fit.cyclesPerReading * fit.readings);
  if (!(miss > allowed) || miss * fit.readings < turned) return [];
  const found =
    evidence.stimulus === null ? fit.cyclesPerReading * rate.value : (stated * rate.value) / evidence.stimulus.rate;
  const away = found / stated - 1;
  const basis = { stated: "as stated", timestamps: "by the time stamps", timing: "by the timing bits", stimulus: "" }[
    rate.basis
  ];
  return [
    {
      id: "frequency-mismatch",
      severity: "warning",
      text: `The tone lies at ${say.hertz(found)} with ${say.hertz(rate.value)} ${basis}, but ${say.hertz(stated)} is stated: ${say.ratio(Math.abs(away))} ${away > 0 ? "higher" : "lower"}, where ${say.ratio(Math.max(relative, allowed / cycles))} is allowed for.`,
      cause: "The generator's setting, or the sample rate, is not what the bench file says.",
      advice: `Read the generator's setting again; with the stated frequency the sample rate would be ${say.hertz((rate.value * stated) / found)}.`,
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
}

function aliased({ record, rate }: Parameters<Detector>[0], stimulus: Sine): Finding[] {
  const stated = stimulus.frequency;
  if (stated === null || rate === null || rate.basis === "stimulus" || stated <= rate.value / 2) return [];
  return [
    {
      id: "aliased",
      severity: "warning",
      text: `The stated ${say.hertz(stated)} lies above half the sample rate of ${say.hertz(rate.value)}, so that the tone shows at ${say.hertz(foldedFrequency(stated / rate.value) * rate.value)}.`,
      cause: "The converter samples more slowly than twice a cycle of the tone.",
      advice: "Lower the frequency or raise the rate, unless undersampling is meant; harmonics then fold as well.",
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
}
