import type { MetricName } from "../bench/metrics.ts";
import type { SourceLimit } from "../bench/pinStimulus.ts";
import { voltageOfCode } from "../bench/scale.ts";
import type { Finding } from "../match/finding.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { tQuantile } from "../signal/distributions.ts";
import type { Random } from "../signal/random.ts";
import { largestOf } from "./largestOf.ts";
import type { Estimate, Estimates, Measurement, StepCurve } from "./measurement.ts";
import { type LevelMean, type StepLevels, stepLevels } from "./stepsLevels.ts";
import {
  combinedHalfWidth,
  type LevelLine,
  type LevelPoint,
  levelLine,
  levelPoints,
  type PointLimits,
} from "./stepsLine.ts";

/** Levels closer than this, in LSB, are one level. */
const SAME_LEVEL = 0.1;

/**
 * Offset, gain, INL at the points and hysteresis from levels of known voltage.
 * V(y_i) = G·V_i + Vos + ε_i with y_i the mean code of a level after settling; INL_i = −ε_i/Q, positive where the converter reads LOW. A quiet
 * level (σ below about 0.4 LSB) has a mean code that is uncertain by its quantisation, which no number of readings removes: that is in the intervals.
 * Source: DESIGN §4; IEEE Std 1241-2010, gain and offset; METHODS 3 for the source's limits.
 * @param _random  not needed: nothing here is drawn
 */
export function measureSteps(record: MatchedRecord, _random: Random): Measurement {
  const levels = stepLevels(record);
  const { scale, spec, stimulus } = record;
  const { line } = spec.converter;
  const points = levelPoints(levels.visits, SAME_LEVEL * scale.lsb);
  const findings = settlingFinding(levels);
  if (stimulus === null || stimulus.kind !== "steps" || points.length < 2)
    return {
      estimates: nothing(tooFew(levels, points)),
      curves: { steps: stepCurve(levels.visits, null, record) },
      findings,
    };
  const limits = pointLimits(record, points, levels);
  const coverage = tQuantile(0.975, levels.dof);
  const fit = levelLine(points, scale, line);
  const context: Context = { record, levels, points, limits, coverage, fit, described: describe(levels, points, line) };
  return {
    estimates: {
      ...nothing("steps show the mean code of each level, not single transitions; a ramp, triangle or sine would"),
      offsetError: offsetError(context),
      gainError: gainError(context),
      ...integralNonlinearity(context),
      totalUnadjustedError: totalUnadjustedError(context),
      hysteresis: hysteresis(context),
    },
    curves: { steps: stepCurve(levels.visits, fit, record) },
    findings,
  };
}

interface Context {
  readonly record: MatchedRecord;
  readonly levels: StepLevels;
  readonly points: readonly LevelPoint[];
  readonly limits: PointLimits;
  readonly coverage: number;
  readonly fit: LevelLine;
  readonly described: string;
}

function pointLimits(
  { stimulus, scale, appliedVolts }: MatchedRecord,
  points: readonly LevelPoint[],
  levels: StepLevels,
): PointLimits {
  if (stimulus === null) return { reach: levels.reach, linearity: 0, repeatability: 0 };
  // Levels in a column were not known when the stimulus was described: its linearity was scaled to the whole range.
  const span = points[points.length - 1]!.applied - points[0]!.applied;
  const share = appliedVolts !== null ? Math.min(1, span / scale.fsr) : 1;
  return {
    reach: levels.reach,
    linearity: (share * stimulus.linearity) / scale.lsb,
    repeatability: stimulus.repeatability / scale.lsb,
  };
}

function describe(levels: StepLevels, points: readonly LevelPoint[], line: "endpoint" | "best-fit"): string {
  const used = points.reduce((sum, p) => sum + p.visits.reduce((s, v) => s + v.readings, 0), 0);
  const left = levels.visits.filter((v) => v.note !== null).length;
  return `mean codes of ${points.length} levels (${used} readings after settling${left > 0 ? `, ${left} visits left out` : ""}), ${line} line`;
}

/** What levels would have to be there, in words, when there are too few. */
function tooFew(levels: StepLevels, points: readonly LevelPoint[]): string {
  const { visits } = levels;
  if (visits.length === 0)
    return "the bench file names neither levels nor a column of applied voltages that the log has";
  const notes = [...new Set(visits.flatMap((v) => (v.note === null ? [] : [v.note])))];
  return `${points.length} of ${visits.length} levels can be used and at least 2 are needed${notes.length > 0 ? ` (${notes.slice(0, 2).join("; ")})` : ""}`;
}

const STEP_METRICS: readonly MetricName[] = [
  "offsetError",
  "gainError",
  "inlMax",
  "inlMin",
  "totalUnadjustedError",
  "hysteresis",
  "offsetAtLow",
  "dnlMax",
  "dnlMin",
  "missingCodes",
];

function nothing(reason: string): Estimates {
  const estimates: Estimates = {};
  for (const name of STEP_METRICS)
    estimates[name] = {
      value: null,
      unit: name === "gainError" ? "%" : name === "missingCodes" ? "codes" : "LSB",
      method: "mean codes of known levels",
      reason,
      low: null,
      high: null,
      limits: [],
    };
  return estimates;
}

/** A linear combination of the points as an estimate. */
function combined(
  context: Context,
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
    shares: shares(u.readings, u.reach, u.source),
  };
}

function shares(readings: number, reach: number, source: number): Estimate["shares"] {
  return [
    { from: "number of readings", standard: readings },
    { from: "quantisation of quiet levels", standard: reach },
    { from: "source linearity and repeatability", standard: source },
  ].filter((s) => s.standard > 0);
}

function offsetError(context: Context): Estimate {
  const { fit, record } = context;
  const { lsb } = record.scale;
  // The stated levels are off by δ·(V − pivot) or δ; the line through them moves the other way round.
  const limits = record.stimulus!.limits.map((l: SourceLimit) => ({
    from: l.from,
    halfWidth: (Math.abs(fit.gain) * l.halfWidth * (l.kind === "scale" ? Math.abs(l.pivot) : 1)) / lsb,
  }));
  return combined(context, fit.offset / lsb, "LSB", fit.offsetWeights, limits);
}

function gainError(context: Context): Estimate {
  const { fit, record } = context;
  const limits = record.stimulus!.limits.flatMap((l: SourceLimit) =>
    l.kind === "scale" ? [{ from: l.from, halfWidth: 100 * Math.abs(fit.gain) * l.halfWidth }] : [],
  );
  const perLsb = fit.gainWeights.map((w) => 100 * w * record.scale.lsb);
  return combined(context, 100 * (fit.gain - 1), "%", perLsb, limits);
}

/** INL of a mean code at an applied voltage: how far the line lies above it. */
function inlAt(record: MatchedRecord, fit: LevelLine, applied: number, meanCode: number): number {
  return (fit.gain * applied + fit.offset - voltageOfCode(record.scale, meanCode)) / record.scale.lsb;
}

function integralNonlinearity(context: Context): Estimates {
  const { points, fit, record, described } = context;
  const n = points.length;
  const isEndpoint = record.spec.converter.line === "endpoint";
  if (n < 3) {
    const reason = `${n} usable levels; the line takes two, so at least 3 are needed to see a departure from it`;
    return { inlMax: { ...nothing(reason).inlMax! }, inlMin: { ...nothing(reason).inlMin! } };
  }
  const values: number[] = [];
  const widths: number[] = [];
  const parts: { readings: number; reach: number; source: number }[] = [];
  const weights = new Float64Array(n);
  points.forEach((p, i) => {
    for (let j = 0; j < n; j++) weights[j] = fit.gainWeights[j]! * p.applied + fit.offsetWeights[j]!;
    weights[i]! -= 1;
    const u = combinedHalfWidth(weights, points, context.limits, context.coverage);
    values.push(inlAt(record, fit, p.applied, p.meanCode));
    // The ends of an endpoint line are zero by definition.
    widths.push(isEndpoint && (i === 0 || i === n - 1) ? 0 : u.halfWidth);
    parts.push(u);
  });
  const estimate = (sign: 1 | -1): Estimate => {
    const largest = largestOf(
      values.map((x) => sign * x),
      widths,
    );
    const { readings, reach, source } = parts[largest.index]!;
    const [low, high] = sign > 0 ? [largest.low, largest.high] : [-largest.high, -largest.low];
    return {
      value: sign * largest.value,
      unit: "LSB",
      method: `${described}; ${sign > 0 ? "largest" : "smallest"} INL of the points, at ${points[largest.index]!.applied.toPrecision(5)} V${largest.contenders > 1 ? `, ${largest.contenders} points could be it` : ""}; between the points nothing was tested`,
      low,
      high,
      limits: [],
      shares: shares(readings, reach, source),
    };
  };
  return { inlMax: estimate(1), inlMin: estimate(-1) };
}

function totalUnadjustedError(context: Context): Estimate {
  const { points, record, coverage, described } = context;
  const { lsb } = record.scale;
  const errors = points.map((p) => (voltageOfCode(record.scale, p.meanCode) - p.applied) / lsb);
  const weights = new Float64Array(points.length);
  const widths = points.map((_, i) => {
    weights.fill(0);
    weights[i] = 1;
    return combinedHalfWidth(weights, points, context.limits, coverage).halfWidth;
  });
  const largest = largestOf(errors.map(Math.abs), widths);
  const { applied, standard } = points[largest.index]!;
  return {
    value: largest.value,
    unit: "LSB",
    method: `${described}; largest |V(y) − V|/Q of the points, at ${applied.toPrecision(5)} V, nothing corrected; between the points nothing was tested`,
    low: Math.max(0, largest.low),
    high: largest.high,
    limits: record.stimulus!.limits.map((l: SourceLimit) => ({
      from: l.from,
      halfWidth: (l.halfWidth * (l.kind === "scale" ? Math.abs(applied - l.pivot) : 1)) / lsb,
    })),
    shares: shares(
      standard,
      context.limits.reach / Math.sqrt(3),
      Math.hypot(context.limits.linearity, context.limits.repeatability) / Math.sqrt(3),
    ),
  };
}

function hysteresis(context: Context): Estimate {
  const { points, limits, coverage, described } = context;
  const differences: number[] = [];
  const widths: number[] = [];
  const standards: number[] = [];
  for (const point of points) {
    const up = point.visits.filter((v) => v.direction === "up");
    const down = point.visits.filter((v) => v.direction === "down");
    if (up.length === 0 || down.length === 0) continue;
    const mean = (visits: readonly LevelMean[]): number => visits.reduce((s, v) => s + v.meanCode, 0) / visits.length;
    const sides = [up, down].map((visits) => ({
      applied: point.applied,
      meanCode: 0,
      standard: Math.sqrt(visits.reduce((s, v) => s + v.standard ** 2, 0)) / visits.length,
      visits,
    }));
    differences.push(Math.abs(mean(up) - mean(down)));
    // The source's line is the same both ways; that it is set anew, and the quantiser's steps, are not.
    widths.push(combinedHalfWidth([1, -1], sides, { ...limits, linearity: 0 }, coverage).halfWidth);
    standards.push(Math.hypot(sides[0]!.standard, sides[1]!.standard));
  }
  if (differences.length === 0)
    return nothing("no level was reached both from below and from above; `direction: both` would show hysteresis")
      .hysteresis!;
  const largest = largestOf(differences, widths);
  return {
    value: largest.value,
    unit: "LSB",
    method: `${described}; largest |mean code going up − going down| of ${differences.length} levels`,
    low: Math.max(0, largest.low),
    high: largest.high,
    limits: [],
    shares: shares(standards[largest.index]!, limits.reach * Math.sqrt(2 / 3), limits.repeatability * Math.sqrt(2 / 3)),
  };
}

function stepCurve(visits: readonly LevelMean[], fit: LevelLine | null, record: MatchedRecord): StepCurve {
  return {
    points: visits.map(({ applied, meanCode, standard, readings, settling, direction, note }) => ({
      applied,
      meanCode,
      standard,
      readings,
      settling,
      inl: fit === null || note !== null ? null : inlAt(record, fit, applied, meanCode),
      direction,
      note,
    })),
  };
}

function settlingFinding({ visits }: StepLevels): Finding[] {
  const slow = visits.filter((v) => v.note?.startsWith("not settled"));
  if (slow.length === 0) return [];
  return [
    {
      id: "slow-settling",
      severity: "warning",
      text: `${slow.length} of ${visits.length} levels had not settled by half of their readings and are left out.`,
      cause:
        "The source, a filter in front of the converter or the input capacitance takes longer to settle than the level was held.",
      advice: "Hold each level longer, or lower the source resistance.",
      readings: slow.map((v) => [v.first, v.last] as const),
      nulls: [],
    },
  ];
}
