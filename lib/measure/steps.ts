import type { Finding } from "../match/finding.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { tQuantile } from "../signal/distributions.ts";
import type { Random } from "../signal/random.ts";
import type { Measurement, StepCurve } from "./measurement.ts";
import { inlAt, pointLimits, type StepsContext, untested } from "./stepsContext.ts";
import { hysteresis } from "./stepsHysteresis.ts";
import { type LevelMean, type StepLevels, stepLevels } from "./stepsLevels.ts";
import { type LevelLine, type LevelPoint, levelLine, levelPoints } from "./stepsLine.ts";
import { integralNonlinearity, totalUnadjustedError } from "./stepsNonlinearity.ts";
import { gainError, offsetError } from "./stepsOffsetGain.ts";

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
      estimates: untested(tooFew(levels, points)),
      curves: { steps: stepCurve(levels.visits, null, record) },
      findings,
    };
  const limits = pointLimits(record, points, levels);
  const coverage = tQuantile(0.975, levels.dof);
  const fit = levelLine(points, scale, line);
  const context: StepsContext = {
    record,
    levels,
    points,
    limits,
    coverage,
    fit,
    described: describe(levels, points, line),
  };
  return {
    estimates: {
      ...untested("steps show the mean code of each level, not single transitions; a ramp, triangle or sine would"),
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
