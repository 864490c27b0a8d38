import type { LimitMetric } from "./bench.ts";
import { METRIC_NAMES, METRICS } from "./metrics.ts";
import { parseQuantity, quote } from "./quantity.ts";

/** Every name that `limits` and `allow` may use. */
export const LIMIT_METRICS = [...METRIC_NAMES, "inl", "dnl"] as const satisfies readonly LimitMetric[];

/** The unit in which a limit on this metric is given. */
export function unitOfMetric(metric: LimitMetric): string {
  return metric === "inl" || metric === "dnl" ? "LSB" : METRICS[metric].unit;
}

/** Metrics whose `max` bounds the magnitude, so that it cannot be negative. */
export function isMagnitude(metric: LimitMetric): boolean {
  return metric === "inl" || metric === "dnl" || METRICS[metric].worse === "magnitude";
}

/**
 * Reads a limit in its metric's own unit: 10.2, "10.2 bit", "-65 dB", "0.1 %".
 * @returns the number, or what was found and expected
 */
export function parseMetricValue(
  input: string | number,
  metric: LimitMetric,
): number | { readonly found: string; readonly expected: string } {
  const unit = unitOfMetric(metric);
  const expected = `a number in ${unit}`;
  if (typeof input === "number")
    return Number.isFinite(input) ? input : { found: `${input} is not a number`, expected };
  const typed = input.trim();
  const suffix = spellings(unit).find((spelling) => typed.toLowerCase().endsWith(spelling));
  const reading = parseQuantity(suffix === undefined ? typed : typed.slice(0, -suffix.length), "count");
  if (reading.ok && reading.bare) return reading.value;
  const isUnitOff = reading.ok || reading.code === "wrong-unit";
  return { found: `${quote(input)} is not ${isUnitOff ? `in ${unit}` : "a number"}`, expected };
}

/** Longest first, so that "bits" is not taken for a number followed by "s". */
function spellings(unit: string): readonly string[] {
  const own = unit.toLowerCase();
  if (own === "bit") return ["bits", "bit"];
  if (own === "dbc") return ["dbc", "db"];
  if (own === "%") return ["%", "percent"];
  if (own === "codes") return ["codes", "code"];
  return [own];
}
