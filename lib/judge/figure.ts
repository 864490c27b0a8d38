import type { LimitMetric } from "../bench/bench.ts";
import type { MetricName } from "../bench/metrics.ts";

/** A metric as it is reported (DESIGN §5): the value, its interval at about 95 %, and where the interval comes from. */
export interface Figure {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Half the interval's width; null where an end is open. */
  readonly uncertainty: number | null;
  readonly unit: string;
  readonly method: string;
  readonly reason?: string;
  readonly budget: Budget;
  /** Readings that would bring the record's own half-width to this; for the remedy of an undecided limit. Not written to JSON. */
  readonly readingsNeeded?: (halfWidth: number) => number;
}

/** Where an interval comes from. Half-widths at about 95 % for the record's shares, ± limits for the source's. */
export interface Budget {
  readonly parts: readonly { readonly from: string; readonly kind: "record" | "limit"; readonly halfWidth: number }[];
  /** What would shrink it most, one sentence: "ten times the readings would not help: the source's ±0.5 % dominates". */
  readonly advice: string;
}

export type Figures = Partial<Record<MetricName, Figure>>;

export type Decision = "pass" | "fail" | "undecided";

export interface LimitRow {
  readonly metric: LimitMetric;
  readonly bound: "min" | "max";
  readonly limit: number;
  readonly unit: string;
  readonly capture: string | null;
  readonly channel: string | null;
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly uncertainty: number | null;
  readonly decision: Decision | "not measured";
  /** Undecided or not measured: what would decide it. */
  readonly remedy: string | null;
}

export interface Verdict {
  readonly decision: Decision | "none";
  readonly limits: readonly LimitRow[];
}
