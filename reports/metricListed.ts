import type { LimitMetric } from "../lib/bench/bench.ts";
import { metricInSentence } from "./metricLabel.ts";

/** A metric's name in a list of names, where a comma inside a name would part it: "INL (largest)". */
export function metricListed(metric: LimitMetric): string {
  return metricInSentence(metric).replace(/, (.*)$/, " ($1)");
}
