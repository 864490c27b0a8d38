import type { LimitMetric } from "../lib/bench/bench.ts";
import { METRICS, type MetricName } from "../lib/bench/metrics.ts";

const LABELS: Readonly<Record<LimitMetric, string>> = {
  offsetError: "Offset error",
  offsetAtLow: "Offset at the bottom",
  gainError: "Gain error",
  inl: "INL, either sign",
  inlMax: "INL, largest",
  inlMin: "INL, smallest",
  dnl: "DNL, either sign",
  dnlMax: "DNL, largest",
  dnlMin: "DNL, smallest",
  missingCodes: "Missing codes",
  totalUnadjustedError: "Total unadjusted error",
  hysteresis: "Hysteresis",
  enob: "ENOB",
  enobAtLevel: "ENOB at this level",
  sinad: "SINAD",
  snr: "SNR",
  thd: "THD",
  sfdr: "SFDR",
  signalLevel: "Signal level",
  noiseFloor: "Noise floor",
  noiseRms: "Noise, rms",
  codeRms: "Spread of the codes, rms",
  noisePeakToPeak: "Noise, peak to peak",
  effectiveResolution: "Effective resolution",
  noiseFreeBits: "Noise-free bits",
  meanCode: "Mean code",
  drift: "Drift",
  crosstalk: "Crosstalk",
};

/** A metric's name for a reader. */
export function metricLabel(metric: LimitMetric): string {
  return LABELS[metric];
}

/** In the middle of a sentence: abbreviations keep their capitals. */
export function metricInSentence(metric: LimitMetric): string {
  const label = LABELS[metric].replace(/, either sign$/, "");
  return /^[A-Z]{2}/.test(label) ? label : label.charAt(0).toLowerCase() + label.slice(1);
}

/** Whether a metric is an error with a sign that a reader needs to see. */
export function isSigned(metric: LimitMetric): boolean {
  return (
    metric.startsWith("inlM") ||
    metric.startsWith("dnlM") ||
    (metric in METRICS && METRICS[metric as MetricName].worse === "magnitude")
  );
}
