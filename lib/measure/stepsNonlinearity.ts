import type { SourceLimit } from "../bench/pinStimulus.ts";
import { voltageOfCode } from "../bench/scale.ts";
import { largestOf } from "./largestOf.ts";
import type { Estimate, Estimates } from "./measurement.ts";
import { inlAt, limitAt, type StepsContext, shares, untested } from "./stepsContext.ts";
import { type CombinedWidth, combinedHalfWidth } from "./stepsLine.ts";

/** Levels up to which each one's share in a best-fit line is followed up. */
const MANY_CARRIERS = 1000;

/** inlMax and inlMin over the points; between them nothing was tested. */
export function integralNonlinearity(context: StepsContext): Estimates {
  const { points, fit, record, described } = context;
  const n = points.length;
  const isEndpoint = record.spec.converter.line === "endpoint";
  if (n < 3) {
    const reason = `${n} usable levels; the line takes two, so at least 3 are needed to see a departure from it`;
    return { inlMax: { ...untested(reason).inlMax! }, inlMin: { ...untested(reason).inlMin! } };
  }
  const values: number[] = [];
  const widths: number[] = [];
  const parts: CombinedWidth[] = [];
  const weights = new Float64Array(n);
  // Only the two ends carry an endpoint line; one through thousands of levels is as good as exact beside a single level.
  const carriers = isEndpoint ? [0, n - 1] : n <= MANY_CARRIERS ? Array.from(points.keys()) : [];
  points.forEach((p, i) => {
    const used = new Set([...carriers, i]);
    weights[i] = 0;
    for (const j of carriers) weights[j] = fit.gainWeights[j]! * p.applied + fit.offsetWeights[j]!;
    weights[i]! -= 1;
    const u = combinedHalfWidth(weights, points, context.limits, context.coverage, used);
    values.push(inlAt(record, fit, p.applied, p.meanCode));
    // The ends of an endpoint line are zero by definition.
    widths.push(isEndpoint && (i === 0 || i === n - 1) ? 0 : u.halfWidth);
    parts.push(u);
    weights[i] = 0;
  });
  const estimate = (sign: 1 | -1): Estimate => {
    const largest = largestOf(
      values.map((x) => sign * x),
      widths,
    );
    // Departures from a line through the points cannot all lie on one side.
    const least = Math.max(0, largest.low);
    const [low, high] = sign > 0 ? [least, largest.high] : [-largest.high, -least];
    return {
      value: sign * largest.value,
      unit: "LSB",
      method: `${described}; ${sign > 0 ? "largest" : "smallest"} INL of the points, at ${points[largest.index]!.applied.toPrecision(5)} V${largest.contenders > 1 ? `, ${largest.contenders} points could be it` : ""}; between the points nothing was tested`,
      low,
      high,
      limits: [],
      shares: shares(parts[largest.index]!),
    };
  };
  return { inlMax: estimate(1), inlMin: estimate(-1) };
}

/** Largest |V(y) − V|/Q over the points, nothing corrected. */
export function totalUnadjustedError(context: StepsContext): Estimate {
  const { points, record, coverage, described } = context;
  const { lsb } = record.scale;
  const errors = points.map((p) => (voltageOfCode(record.scale, p.meanCode) - p.applied) / lsb);
  const parts = points.map((p, i) => {
    const displacement = context.limits.displacement.slice(i, i + 1);
    return combinedHalfWidth([1], [p], { ...context.limits, displacement }, coverage);
  });
  const largest = largestOf(
    errors.map(Math.abs),
    parts.map((u) => u.halfWidth),
  );
  const { applied } = points[largest.index]!;
  return {
    value: largest.value,
    unit: "LSB",
    method: `${described}; largest |V(y) − V|/Q of the points, at ${applied.toPrecision(5)} V, nothing corrected; between the points nothing was tested`,
    low: Math.max(0, largest.low),
    high: largest.high,
    limits: record.stimulus!.limits.map((l: SourceLimit) => ({
      from: l.from,
      halfWidth: limitAt(l, applied) / lsb,
    })),
    shares: shares(parts[largest.index]!),
  };
}
