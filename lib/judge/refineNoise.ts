import type { CaptureSpec } from "../bench/bench.ts";
import type { Finding } from "../match/finding.ts";
import type { MatchedRecord } from "../match/matched.ts";
import type { Curves } from "../measure/measurement.ts";
import { noiseWithTransitions } from "../measure/steady.ts";
import { median } from "../signal/median.ts";
import { captureGroups } from "./captureGroups.ts";
import { expandAll } from "./expandAll.ts";
import type { Figures } from "./figure.ts";

interface Scored {
  readonly spec: CaptureSpec;
  readonly record: MatchedRecord;
  readonly figures: Figures;
  readonly findings: readonly Finding[];
  readonly curves: Curves;
}

/**
 * A session's captures with the noise of each steady one worked out again from code widths that a ramp, triangle or sine of the same channel and setting has measured.
 * Without them the widths are assumed, which costs up to half of a small noise figure's value as uncertainty. Of several captures the one that knows the
 * widths best is taken, a choice that does not look at the noise.
 * Source: METHODS 4.
 */
export function refineNoise<T extends Scored>(captures: readonly T[]): readonly T[] {
  const refined = new Map<T, T>();
  for (const group of captureGroups(captures)) {
    const curves = group
      .flatMap(({ curves, spec }) => (curves.transitions === undefined ? [] : [{ curve: curves.transitions, spec }]))
      .sort((a, b) => spread(a.curve.dnlU) - spread(b.curve.dnlU));
    for (const capture of group) {
      if (capture.spec.stimulus?.kind !== "steady" || capture.figures.noiseRms === undefined) continue;
      for (const { curve, spec } of curves) {
        const estimates = noiseWithTransitions(capture.record, curve);
        if (estimates.noiseRms === undefined) continue;
        for (const estimate of Object.values(estimates))
          Object.assign(estimate, { method: `${estimate.method} (code widths from ${spec.name})` });
        refined.set(capture, {
          ...capture,
          figures: { ...capture.figures, ...expandAll(estimates, capture.findings) },
        });
        break;
      }
    }
  }
  return captures.map((c) => refined.get(c) ?? c);
}

/** How well a curve knows its code widths; one that tested none knows nothing. */
function spread(dnlU: Float64Array): number {
  const typical = median(dnlU);
  return Number.isNaN(typical) ? Number.POSITIVE_INFINITY : typical;
}
