import { METRIC_NAMES, type MetricName } from "../../lib/bench/metrics.ts";
import { type Condition, trial } from "./conditions.ts";

export interface Coverage {
  readonly metric: MetricName;
  /** Trials whose interval held the truth, of those that claimed a two-sided interval with a value. */
  readonly held: number;
  readonly claimed: number;
  /** One-sided bounds and how many of them held. */
  readonly bounds: number;
  readonly boundsHeld: number;
  /**
   * Trials, of all with an interval or bound, that lie wholly above and wholly below the truth: with a limit at the truth itself these are the guarded
   * decisions that come out wrong, as a pass or as a fail.
   */
  readonly above: number;
  readonly below: number;
  /** Trials that said they cannot support the metric. */
  readonly nulls: number;
  /** Median half-width, in the metric's unit. */
  readonly halfWidth: number | null;
}

type Writable<T> = { -readonly [K in keyof T]: T[K] };

/** Intervals of a metric against the truth, over many simulated captures of one condition. */
export function coverage(condition: Condition, trials: number, firstSeed = 1): Coverage[] {
  const seen = new Map<MetricName, Omit<Writable<Coverage>, "metric" | "halfWidth"> & { widths: number[] }>();
  for (let i = 0; i < trials; i++) {
    const { score, truths } = trial(condition, firstSeed + i);
    for (const metric of METRIC_NAMES) {
      const figure = score.figures[metric];
      const truth = truths[metric];
      if (figure === undefined || truth === undefined) continue;
      const tally = seen.get(metric) ?? {
        held: 0,
        claimed: 0,
        bounds: 0,
        boundsHeld: 0,
        above: 0,
        below: 0,
        nulls: 0,
        widths: [],
      };
      seen.set(metric, tally);
      const { value, low, high } = figure;
      // A hair of room for rounding where interval and truth are the same number (counts, capped bits).
      const hair = 1e-9 * Math.max(1, Math.abs(truth));
      const inside = (low === null || low <= truth + hair) && (high === null || truth <= high + hair);
      if (low !== null && low > truth + hair) tally.above++;
      if (high !== null && high < truth - hair) tally.below++;
      if (value !== null && low !== null && high !== null) {
        tally.claimed++;
        if (inside) tally.held++;
        tally.widths.push((high - low) / 2);
      } else if (low !== null || high !== null) {
        tally.bounds++;
        if (inside) tally.boundsHeld++;
      } else tally.nulls++;
    }
  }
  return [...seen].map(([metric, { widths, ...counts }]) => ({
    metric,
    ...counts,
    halfWidth: widths.length === 0 ? null : [...widths].sort((a, b) => a - b)[widths.length >> 1]!,
  }));
}
