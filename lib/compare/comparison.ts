import type { MetricName } from "../bench/metrics.ts";
import type { ResultFigure } from "../result.ts";
import type { Column } from "./columns.ts";
import type { Difference, Shared } from "./difference.ts";
import type { Unlike } from "./likeForLike.ts";
import type { Pairing } from "./pairCaptures.ts";

/** What a difference amounts to: beyond its uncertainty and in which sense, within it, or not to be told. */
export type Change = "better" | "worse" | "changed" | "within uncertainty" | "not comparable";

/** One metric of one pair of captures. */
export interface ComparedMetric {
  readonly metric: MetricName;
  readonly capture: string;
  /** In the unit of the table: LSB, or volts where the two LSB differ. */
  readonly unit: string;
  readonly first: ResultFigure | null;
  readonly second: ResultFigure | null;
  /** Second minus first. */
  readonly difference: Difference;
  readonly change: Change;
  /** Why it is not comparable, or what else differs. */
  readonly note: string | null;
  /** Both figures in their own LSB, where the table is in volts. */
  readonly inLsb: { readonly first: ResultFigure | null; readonly second: ResultFigure | null } | null;
}

/** A column against the reference. */
export interface ComparedColumn {
  readonly column: Column;
  readonly metrics: readonly ComparedMetric[];
  readonly pairing: Pairing;
  readonly unlike: readonly { readonly capture: string; readonly unlike: Unlike }[];
}

export interface Comparison {
  readonly reference: Column;
  readonly others: readonly ComparedColumn[];
  readonly shared: Shared;
  /** How the source's part was taken, one sentence; null where no figure carries any. */
  readonly correlation: string | null;
  /** Which setting, and is it worth it. */
  readonly answer: string;
}
