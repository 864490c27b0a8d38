import type { MetricName } from "../bench/metrics.ts";

/** Metrics that a tone record gives. */
export const TONE_METRICS: readonly MetricName[] = [
  "enob",
  "enobAtLevel",
  "sinad",
  "snr",
  "thd",
  "sfdr",
  "signalLevel",
  "noiseFloor",
];

/** Metrics of the transfer line. */
export const LINE_METRICS: readonly MetricName[] = ["offsetError", "offsetAtLow", "gainError", "totalUnadjustedError"];

/** Metrics of single codes and the curve's shape. */
export const SHAPE_METRICS: readonly MetricName[] = [
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "missingCodes",
  "hysteresis",
];

/** Metrics of a steady record. */
export const STEADY_METRICS: readonly MetricName[] = [
  "noiseRms",
  "codeRms",
  "noisePeakToPeak",
  "effectiveResolution",
  "noiseFreeBits",
  "meanCode",
  "drift",
];

/** For a log whose codes do not mean what the bench file says. */
export const ALL_METRICS: readonly MetricName[] = [
  ...TONE_METRICS,
  ...LINE_METRICS,
  ...SHAPE_METRICS,
  ...STEADY_METRICS,
  "crosstalk",
];
