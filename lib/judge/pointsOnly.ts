import type { LimitMetric } from "../bench/bench.ts";
import type { Figures } from "./figure.ts";

/** Metrics that are extremes over the whole range: a capture that tested a few points of it bounds them from one side only. */
const EXTREMES: ReadonlySet<LimitMetric> = new Set(["inl", "inlMax", "inlMin", "totalUnadjustedError"]);

interface Capture {
  readonly spec: { readonly stimulus: { readonly kind: string } | null; readonly converter: { readonly bits: number } };
  readonly figures: Figures;
}

const isSteps = (capture: Capture): boolean => capture.spec.stimulus?.kind === "steps";

/**
 * Whether a capture sees a metric at a few points only. Steps do, of INL and of the total unadjusted error: what lies between the levels was
 * not tested, so they judge a limit on these only where no capture tested every code.
 */
export function seesPointsOnly(metric: LimitMetric, capture: Capture): boolean {
  return isSteps(capture) && EXTREMES.has(metric);
}

/**
 * By how much two captures may differ about a metric although both are right. Steps draw their line through other points than a capture of every
 * code, so offset and gain may differ by what INL does at those points; extremes over points and over codes are different things altogether.
 * @returns in the metric's unit; Infinity where the two are not to be compared
 */
export function definitionAllowance(metric: LimitMetric, a: Capture, b: Capture): number {
  if (isSteps(a) === isSteps(b)) return 0;
  if (EXTREMES.has(metric)) return Number.POSITIVE_INFINITY;
  if (metric !== "offsetError" && metric !== "gainError") return 0;
  const reach = Math.max(
    0,
    ...[a, b].flatMap(({ figures }) => [figures.inlMax?.high ?? 0, -(figures.inlMin?.low ?? 0)]),
  );
  // A line may be tilted by INL of opposite sign at its two ends, across nearly the whole range.
  return metric === "offsetError" ? 2 * reach : (100 * 2 * reach) / (0.9 * 2 ** a.spec.converter.bits);
}
