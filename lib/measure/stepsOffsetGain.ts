import type { SourceLimit } from "../bench/pinStimulus.ts";
import type { Estimate } from "./measurement.ts";
import { type StepsContext, shares } from "./stepsContext.ts";
import { combinedHalfWidth } from "./stepsLine.ts";

/** A linear combination of the points as an estimate. */
function combined(
  context: StepsContext,
  value: number,
  unit: string,
  weights: ArrayLike<number>,
  limits: Estimate["limits"],
): Estimate {
  const { points, coverage, described } = context;
  const u = combinedHalfWidth(weights, points, context.limits, coverage);
  return {
    value,
    unit,
    method: described,
    low: value - u.halfWidth,
    high: value + u.halfWidth,
    limits,
    shares: shares(u),
  };
}

/** Vos/Q of the line through the levels, LSB at 0 V input. */
export function offsetError(context: StepsContext): Estimate {
  const { fit, record } = context;
  const { lsb } = record.scale;
  // The stated levels are off by δ·(V − pivot) or δ; the line through them moves the other way round.
  const limits = record.stimulus!.limits.map((l: SourceLimit) => ({
    from: l.from,
    halfWidth: (Math.abs(fit.gain) * l.halfWidth * (l.kind === "scale" ? Math.abs(l.pivot) : 1)) / lsb,
  }));
  return combined(context, fit.offset / lsb, "LSB", fit.offsetWeights, limits);
}

/** 100·(G − 1) of the line through the levels, per cent. */
export function gainError(context: StepsContext): Estimate {
  const { fit, record } = context;
  const limits = record.stimulus!.limits.flatMap((l: SourceLimit) =>
    l.kind === "scale" ? [{ from: l.from, halfWidth: 100 * Math.abs(fit.gain) * l.halfWidth }] : [],
  );
  const perLsb = fit.gainWeights.map((w) => 100 * w * record.scale.lsb);
  return combined(context, 100 * (fit.gain - 1), "%", perLsb, limits);
}
