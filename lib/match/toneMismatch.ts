import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import type { Finding } from "./finding.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { frequencyMismatch } from "./frequencyMismatch.ts";
import { levelMismatch } from "./levelMismatch.ts";
import { LINE_METRICS, SHAPE_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { levelLeverage } from "./partOfCycle.ts";
import { say } from "./say.ts";

/** Standard deviations of a fitted parameter that are allowed for: 5.7e-7 of false alarms in a Gaussian. */
const ALLOWED_DEVIATIONS = 5;

/** Height of a converter's own curve that a part of a cycle may take for another size or middle, LSB. */
const CURVE = 3;

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
  const cycles = Math.min(fit.cyclesPerReading, 0.5 - fit.cyclesPerReading) * fit.readings;
  const ofCurve = (CURVE * levelLeverage(cycles) * converterLsb(record)) / ALLOWED_DEVIATIONS;
  return [
    ...frequency(context, stimulus),
    ...aliased(context, stimulus),
    ...levelMismatch(record, {
      amplitude: fit.amplitude,
      offset: fit.offset,
      amplitudeStandard: fit.standard.amplitude + ofCurve,
      offsetStandard: fit.standard.offset + ofCurve,
      statedAmplitude: stimulus.amplitude,
      statedOffset: stimulus.offset,
      deviations: ALLOWED_DEVIATIONS,
    }),
  ];
};

type Sine = Extract<PinStimulus, { kind: "sine" }>;

function frequency(context: MatchContext, stimulus: Sine): Finding[] {
  const { fit } = context;
  if (fit === null || stimulus.frequency === null) return [];
  return frequencyMismatch(context, "tone", stimulus.frequency, stimulus.accuracy.frequency, {
    cyclesPerReading: fit.cyclesPerReading,
    standard: fit.standard.cyclesPerReading,
    left: fit.residualRms / fit.amplitude,
    readings: fit.readings,
  });
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
