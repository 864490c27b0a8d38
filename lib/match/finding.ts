import type { MetricName } from "../bench/metrics.ts";
import type { Stretch } from "../capture/record.ts";

export const FINDING_IDS = [
  "clipped",
  "range-not-exercised",
  "wider-than-declared",
  "narrower-than-declared",
  "left-aligned",
  "byte-swapped",
  "sign-mismatch",
  "stuck-bit",
  "readings-lost",
  "readings-repeated",
  "outliers",
  "frequency-mismatch",
  "amplitude-mismatch",
  "offset-mismatch",
  "aliased",
  "source-limited",
  "too-few-readings",
  "not-coherent",
  "pin-overdriven",
  "mains-hum",
  "drifting",
  "uneven-sampling",
  "few-phases",
  "captures-disagree",
  "lines-skipped",
  "rate-mismatch",
  "slow-settling",
  "telegraph-noise",
  "crosstalk-present",
  "routes-disagree",
] as const;
export type FindingId = (typeof FINDING_IDS)[number];

/** Something about the capture that a person must know before trusting its figures. */
export interface Finding {
  readonly id: FindingId;
  readonly severity: "error" | "warning" | "note";
  /** What was seen, with figures. One sentence. */
  readonly text: string;
  /** The likely cause, in the words of the trade. One sentence. */
  readonly cause: string;
  /** What to try. One sentence. */
  readonly advice: string;
  /** Where: reading indices, both ends included. */
  readonly readings: readonly Stretch[];
  /** Metrics that this finding makes worthless; score nulls them with the finding's text as the reason. */
  readonly nulls: readonly MetricName[];
}
