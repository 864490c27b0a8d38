import type { LimitMetric } from "../bench/bench.ts";
import type { Finding } from "../match/finding.ts";
import type { LimitInterval } from "./limitInterval.ts";
import { significant } from "./significant.ts";

/** A capture's interval of one metric, by the capture's name. */
interface Named {
  readonly capture: string;
  readonly interval: LimitInterval;
}

/**
 * Whether two captures of the same channel and setting contradict each other about a metric: their values differ by more than the joint interval of
 * the two, or, where one has no value, the intervals do not meet.
 * @param allowance  what the two may differ by although both are right, in the metric's unit
 * @returns a captures-disagree finding, or null
 */
export function disagreement(metric: LimitMetric, chosen: Named, other: Named, allowance = 0): Finding | null {
  const [upper, lower] = isAbove(chosen.interval, other.interval) ? [chosen, other] : [other, chosen];
  if (!isApart(upper.interval, lower.interval, allowance)) return null;
  const show = ({ capture, interval: { value, low, high, unit } }: Named): string => {
    const range =
      low !== null && high !== null
        ? `${significant(low, 3)} to ${significant(high, 3)} ${unit}`
        : low !== null
          ? `at least ${significant(low, 3)} ${unit}`
          : `at most ${significant(high ?? 0, 3)} ${unit}`;
    return value === null ? `${range} in ${capture}` : `${significant(value, 3)} ${unit} (${range}) in ${capture}`;
  };
  return {
    id: "captures-disagree",
    severity: "warning",
    text: `${metric} is ${show(chosen)}, which judges the limit, but ${show(other)}.`,
    cause:
      "The converter, its temperature or its supply changed between the captures, or one of the sources is not what the bench file says.",
    advice: "Repeat both captures in turn; name the capture that counts with `capture:` in the limit.",
    readings: [],
    nulls: [],
  };
}

function isAbove(a: LimitInterval, b: LimitInterval): boolean {
  const centre = (i: LimitInterval): number => i.value ?? i.low ?? i.high ?? 0;
  return centre(a) >= centre(b);
}

function isApart(upper: LimitInterval, lower: LimitInterval, allowance: number): boolean {
  if (upper.low === null || lower.high === null) return false;
  if (upper.value === null || lower.value === null) return upper.low > lower.high + allowance;
  return upper.value - lower.value - allowance > Math.hypot(upper.value - upper.low, lower.high - lower.value);
}
