import type { MetricName } from "../bench/metrics.ts";

/** How much worse a metric may become before it counts, in its own unit. `inl` and `dnl` stand for both of their ends. */
export type Allowances = Readonly<Record<string, number>>;

const GROUP: Partial<Record<MetricName, string>> = { inlMax: "inl", inlMin: "inl", dnlMax: "dnl", dnlMin: "dnl" };

/**
 * The allowed worsening of a metric: from the command line, else the smaller of what the two bench files state.
 * @returns null where nothing is stated: then any worsening beyond the uncertainty counts
 */
export function allowanceOf(metric: MetricName, given: Allowances, stated: readonly Allowances[]): number | null {
  const find = (from: Allowances): number | null => from[metric] ?? from[GROUP[metric] ?? metric] ?? null;
  const own = find(given);
  if (own !== null) return own;
  const found = stated.map(find).filter((a) => a !== null);
  return found.length === 0 ? null : Math.min(...found);
}
