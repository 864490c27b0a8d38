import type { MetricName } from "../bench/metrics.ts";
import type { SourceLimit } from "../bench/pinStimulus.ts";
import { voltageOfCode } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import type { MatchedRecord } from "../match/matched.ts";
import type { Estimate, Estimates } from "./measurement.ts";
import type { StepLevels } from "./stepsLevels.ts";
import type { CombinedWidth, LevelLine, LevelPoint, PointLimits } from "./stepsLine.ts";

/** What every figure of a steps capture is worked out from. */
export interface StepsContext {
  readonly record: MatchedRecord;
  readonly levels: StepLevels;
  readonly points: readonly LevelPoint[];
  readonly limits: PointLimits;
  /** Turns a standard deviation of scatter into 95 %: Student's t. */
  readonly coverage: number;
  readonly fit: LevelLine;
  /** How the line was got, for each figure's method. */
  readonly described: string;
}

/** By how much a stated limit lets the voltage of a level be off; volts. */
export function limitAt(limit: SourceLimit, applied: number): number {
  return limit.halfWidth * (limit.kind === "scale" ? Math.abs(applied - limit.pivot) : 1);
}

/** What makes a point's mean code uncertain beyond its scatter. */
export function pointLimits(
  { stimulus, scale, appliedVolts }: MatchedRecord,
  points: readonly LevelPoint[],
  levels: StepLevels,
): PointLimits {
  if (stimulus === null) return { reach: levels.reach, linearity: 0, repeatability: 0, displacement: [] };
  // Levels in a column were not known when the stimulus was described: its linearity was scaled to the whole range.
  const span = points[points.length - 1]!.applied - points[0]!.applied;
  const share = appliedVolts !== null ? Math.min(1, span / scale.fsr) : 1;
  return {
    reach: levels.reach,
    linearity: (share * stimulus.linearity) / scale.lsb,
    repeatability: stimulus.repeatability / scale.lsb,
    displacement: points.map(({ applied }) => {
      const off = stimulus.limits.reduce((sum, l) => sum + limitAt(l, applied) ** 2, 0);
      return Math.sqrt(off / 3) / scale.lsb;
    }),
  };
}

/** The budget's shares of a combined width. */
export function shares({ readings, reach, source, placement }: Omit<CombinedWidth, "halfWidth">): Estimate["shares"] {
  return [
    { from: "number of readings", standard: readings },
    { from: "quantisation of quiet levels", standard: reach },
    { from: "source linearity and repeatability", standard: source },
    { from: "code widths between stated and real level", standard: placement },
  ].filter((s) => s.standard > 0);
}

/** INL of a mean code at an applied voltage: how far the line lies above it. */
export function inlAt(record: MatchedRecord, fit: LevelLine, applied: Volts, meanCode: number): Lsb {
  return (fit.gain * applied + fit.offset - voltageOfCode(record.scale, meanCode)) / record.scale.lsb;
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

/** Every metric that steps are asked for, null, with one reason. */
export function untested(reason: string): Estimates {
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
