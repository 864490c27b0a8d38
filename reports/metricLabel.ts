import type { LimitMetric } from "../lib/bench/bench.ts";
import { METRICS, type MetricName } from "../lib/bench/metrics.ts";

const LABELS: Readonly<Record<LimitMetric, string>> = {
  offsetError: "Offset error",
  offsetAtLow: "Offset at the bottom",
  gainError: "Gain error",
  inl: "|INL|",
  inlMax: "INL, largest",
  inlMin: "INL, smallest",
  dnl: "|DNL|",
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

/** Labels whose order serves a table and not a sentence. */
const IN_SENTENCE: Readonly<Partial<Record<LimitMetric, string>>> = {
  inl: "INL",
  dnl: "DNL",
  inlMax: "largest INL",
  inlMin: "smallest INL",
  dnlMax: "largest DNL",
  dnlMin: "smallest DNL",
  noiseRms: "rms noise",
  codeRms: "rms spread of the codes",
  noisePeakToPeak: "peak-to-peak noise",
};

/** In the middle of a sentence: abbreviations keep their capitals. */
export function metricInSentence(metric: LimitMetric): string {
  const label = IN_SENTENCE[metric] ?? LABELS[metric];
  return /^[A-Z]{2}/.test(label) ? label : label.charAt(0).toLowerCase() + label.slice(1);
}

/** "is", or "are" for what is counted in the plural. */
export function metricVerb(metric: LimitMetric): "is" | "are" {
  return metric === "missingCodes" || metric === "noiseFreeBits" ? "are" : "is";
}

/** Whether a metric is an error with a sign that a reader needs to see. */
export function isSigned(metric: LimitMetric): boolean {
  return (
    metric.startsWith("inlM") ||
    metric.startsWith("dnlM") ||
    (metric in METRICS && METRICS[metric as MetricName].worse === "magnitude")
  );
}

/** What a metric says, in one line, for a reader who meets it for the first time. */
export function metricSentence(metric: LimitMetric): string {
  if (metric === "inl") return "How far any transition lies from the straight line, whichever way.";
  if (metric === "dnl") return "How much wider or narrower than 1 LSB any code is.";
  return METRICS[metric].sentence;
}
