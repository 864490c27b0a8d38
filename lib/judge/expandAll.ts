import { METRIC_NAMES } from "../bench/metrics.ts";
import type { Finding } from "../match/finding.ts";
import type { Estimates } from "../measure/measurement.ts";
import { expand } from "./expand.ts";
import type { Figures } from "./figure.ts";

/**
 * Every estimate as a figure, in the metrics' order; those that a finding makes worthless become null, bounds
 * included, with the finding's text as the reason.
 */
export function expandAll(estimates: Estimates, findings: readonly Finding[]): Figures {
  const figures: Figures = {};
  for (const name of METRIC_NAMES) {
    const estimate = estimates[name];
    if (estimate === undefined) continue;
    const spoilt = findings.find((f) => f.nulls.includes(name));
    figures[name] = expand(
      spoilt === undefined
        ? estimate
        : {
            ...estimate,
            value: null,
            low: null,
            high: null,
            limits: [],
            shares: [],
            // A reason the measure already gave is about this record's readings and says more than the finding.
            reason:
              estimate.reason !== undefined && estimate.value === null
                ? estimate.reason
                : `${spoilt.id}: ${spoilt.text}`,
          },
    );
  }
  return figures;
}
