import { METRICS, type MetricName } from "../bench/metrics.ts";
import type { ResultFigure } from "../result.ts";
import { type Difference, difference, INDEPENDENT, type Shared } from "./difference.ts";
import { magnitudeOf, settledSign } from "./restate.ts";

/**
 * By how much a metric is worse in the second capture than in the first: positive is worse, whichever way the metric counts
 * (ENOB falls, noise rises, an offset grows in magnitude).
 * @returns null for a metric of which neither direction is worse (mean code, signal level)
 */
export function worsening(
  metric: MetricName,
  first: ResultFigure,
  second: ResultFigure,
  options: { shared?: Shared; level?: number } = {},
): Difference | null {
  const { worse } = METRICS[metric];
  if (worse === null) return null;
  if (worse === "high") return difference(first, second, options);
  if (worse === "low") return negated(difference(first, second, options));
  const signs = settledSign(first) * settledSign(second);
  // Where a sign is not settled, a shared error may move the magnitudes either way: independent is the safe reading.
  const shared = signs === 0 ? INDEPENDENT : (options.shared ?? INDEPENDENT);
  return difference(magnitudeOf(first), magnitudeOf(second), { ...options, shared, opposite: signs < 0 });
}

function negated({ value, low, high, uncertainty }: Difference): Difference {
  const minus = (x: number | null): number | null => (x === null ? null : -x);
  return { value: minus(value), low: minus(high), high: minus(low), uncertainty };
}
