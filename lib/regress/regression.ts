import type { MetricName } from "../bench/metrics.ts";
import type { Difference } from "../compare/difference.ts";
import type { ResultFigure } from "../result.ts";

/**
 * worse: by more than the joint uncertainty and the allowed change. not worse: anything that is not shown to be worse. undecided: worse, but whether by more than
 * is allowed, or by more than chance, these captures do not tell. vanished: the baseline had it and now it is not measured; counts as a failure.
 * new: the baseline had none.
 */
export type RegressDecision = "worse" | "not worse" | "undecided" | "vanished" | "new";

/** One metric of one capture, then and now. */
export interface RegressCase {
  readonly metric: MetricName;
  readonly capture: string;
  /** Of the figures below: LSB, or volts where the two LSB differ. */
  readonly unit: string;
  readonly baseline: ResultFigure | null;
  readonly now: ResultFigure | null;
  /** Positive is worse, whichever way the metric counts; null where there is nothing to subtract. */
  readonly worsening: Difference | null;
  /** In the same unit; null where none is stated. */
  readonly allowed: number | null;
  readonly decision: RegressDecision;
  /** What the decision rests on, one sentence with figures. */
  readonly reason: string;
  /** The uncertainty is larger than the allowed change: a worsening that matters could pass unseen. */
  readonly blind: boolean;
}

export interface Regression {
  readonly cases: readonly RegressCase[];
  readonly decision: "worse" | "not worse" | "undecided";
  /** Metrics judged together. */
  readonly judged: number;
  /** Chance that at least one of them would seem worse by its own 95 % interval alone, with nothing changed. */
  readonly chanceAlone: number;
  readonly correlation: string | null;
  /** What else differs between the captures, and captures on one side only. */
  readonly remarks: readonly string[];
}
