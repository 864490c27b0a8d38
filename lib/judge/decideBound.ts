import type { Decision } from "./figure.ts";

/**
 * One limit against one interval.
 * guarded: pass when the whole interval lies inside the limit (touching counts as inside), fail when it lies wholly outside, otherwise undecided. A
 * one-sided bound without a value decides when it lies on the right side.
 * simple: the value alone; where there is no value, what the bound decides.
 * @returns "not measured" when there is neither value nor bound
 * Source: JCGM 106:2012, 8.3 (guarded acceptance and rejection); ILAC-G8:09/2019, 4.2.
 * @example decideBound("max", 1, { value: 0.9, low: 0.8, high: 1 }, "guarded") // "pass"
 */
export function decideBound(
  bound: "min" | "max",
  limit: number,
  interval: { readonly value: number | null; readonly low: number | null; readonly high: number | null },
  rule: "guarded" | "simple",
): Decision | "not measured" {
  const { value, low, high } = interval;
  if (rule === "simple" && value !== null) return (bound === "max" ? value <= limit : value >= limit) ? "pass" : "fail";
  if (value === null && low === null && high === null) return "not measured";
  const worst = bound === "max" ? high : low;
  const best = bound === "max" ? low : high;
  const isInside = (x: number): boolean => (bound === "max" ? x <= limit : x >= limit);
  if (worst !== null && isInside(worst)) return "pass";
  if (best !== null && !isInside(best)) return "fail";
  return "undecided";
}
