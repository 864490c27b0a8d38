import type { Estimate } from "../measure/measurement.ts";
import { halfWidth, Z95 } from "../signal/coverage.ts";
import type { Budget, Figure } from "./figure.ts";
import { shrinksWithReadings } from "./shrinks.ts";
import { significant } from "./significant.ts";

/**
 * A measured estimate as the figure that is reported: the record's own interval convolved with the stated limits of source, front end and
 * reference, and the budget that says where the interval comes from.
 *
 * The two sides of an asymmetric record interval are widened apart, each as if it were half of a normal distribution of its own width.
 * A bound without a value is moved outwards by the limits' own 95 % half-width, added, which is on the safe side.
 * Source: JCGM 100:2008, 4.3.7 (rectangular limits); JCGM 101:2008 (propagation of distributions).
 * @example expand({ value: 1, low: 0.902, high: 1.098, limits: [], … }).uncertainty // 0.098
 */
export function expand(measured: Estimate): Figure {
  const estimate = withoutInfinities(measured);
  const { value, unit, method, reason } = estimate;
  const limits = estimate.limits.filter((l) => l.halfWidth > 0);
  const widths = limits.map((l) => l.halfWidth);
  const byLimits = halfWidth(0, widths);
  const side = (end: number | null, sign: 1 | -1): number | null => {
    if (end === null) return null;
    if (value === null) return end + sign * byLimits;
    const own = Math.max(0, sign * (end - value));
    return value + sign * halfWidth(own / Z95, widths);
  };
  const low = side(estimate.low, -1);
  const high = side(estimate.high, 1);
  const uncertainty = low === null || high === null ? null : (high - low) / 2;
  const budget = budgetOf(estimate, limits, uncertainty);
  return {
    value,
    low,
    high,
    uncertainty,
    unit,
    method,
    ...(reason === undefined ? {} : { reason }),
    budget,
    ...(estimate.readingsNeeded === undefined ? {} : { readingsNeeded: estimate.readingsNeeded }),
  };
}

/** An end that ran off to infinity is an open end; a value that did is none, and says so rather than passing for a number. */
function withoutInfinities(estimate: Estimate): Estimate {
  const finite = (x: number | null): number | null => (x !== null && Number.isFinite(x) ? x : null);
  const { value, low, high } = estimate;
  const lost = value !== null && !Number.isFinite(value);
  return {
    ...estimate,
    value: finite(value),
    low: finite(low),
    high: finite(high),
    ...(lost ? { reason: estimate.reason ?? "this record does not determine it; a longer one may" } : {}),
  };
}

function budgetOf(estimate: Estimate, limits: Estimate["limits"], uncertainty: number | null): Budget {
  const { value, low, high, shares, reason } = estimate;
  const own = low === null || high === null ? null : (high - low) / 2;
  const record =
    shares !== undefined && shares.length > 0
      ? shares.filter((s) => s.standard > 0).map((s) => ({ from: s.from, halfWidth: Z95 * s.standard }))
      : own !== null && own > 0
        ? [{ from: "this record's readings", halfWidth: own }]
        : [];
  const parts: Budget["parts"] = [
    ...record.map((r) => ({ ...r, kind: "record" as const })),
    ...limits.map((l) => ({ from: l.from, kind: "limit" as const, halfWidth: l.halfWidth })),
  ];
  if (value === null) return { parts, advice: reason ?? "This capture does not determine it." };
  if (own === null || uncertainty === null)
    return {
      parts,
      advice: "Only one side of it is bounded by this capture; more readings or more noise would bound the other.",
    };
  return { parts, advice: adviceOf(estimate.unit, own, record, limits, uncertainty) };
}

/** What would shrink the interval most, from its parts. */
function adviceOf(
  unit: string,
  own: number,
  record: readonly { from: string; halfWidth: number }[],
  limits: Estimate["limits"],
  total: number,
): string {
  const lsb = (x: number): string => `±${significant(x)} ${unit}`;
  if (total === 0) return "Nothing in this capture or its source's statement makes it uncertain.";
  const square = record.reduce((sum, r) => sum + r.halfWidth ** 2, 0);
  const stays = record.filter((r) => !shrinksWithReadings(r.from)).reduce((sum, r) => sum + r.halfWidth ** 2, 0);
  // The share that ten times the readings would leave of the record's own part.
  const left = square > 0 ? Math.sqrt((stays + (square - stays) / 10) / square) : Math.sqrt(0.1);
  const widths = limits.map((l) => l.halfWidth);
  const withTenfold = halfWidth((left * own) / Z95, widths);
  const largestRecord = [...record].sort((a, b) => b.halfWidth - a.halfWidth)[0];
  const largestLimit = [...limits].sort((a, b) => b.halfWidth - a.halfWidth)[0];
  if (withTenfold < 0.7 * total)
    return `Mostly ${largestRecord?.from ?? "this record's readings"}: ten times the readings would bring ${lsb(total)} down to about ${lsb(withTenfold)}.`;
  if (largestLimit !== undefined && largestLimit.halfWidth >= own * 0.5) {
    const dominant = `${largestLimit.from}'s ±${significant(largestLimit.halfWidth)} ${unit}`;
    return withTenfold > 0.93 * total
      ? `Ten times the readings would not help: the ${dominant} dominates.`
      : `Ten times the readings would bring ${lsb(total)} only to ${lsb(withTenfold)}: the ${dominant} is the larger part.`;
  }
  return `Ten times the readings would hardly help: ${largestRecord?.from ?? "this record"} (${lsb(largestRecord?.halfWidth ?? own)}) stays.`;
}
