import { METRIC_NAMES, METRICS, type MetricName } from "../bench/metrics.ts";
import { comparableFigure, correlationOf, resolutionsDiffer, toVolts } from "../compare/compare.ts";
import type { Difference, Shared } from "../compare/difference.ts";
import { type Unlike, unlikes } from "../compare/likeForLike.ts";
import { type CapturePair, pairCaptures } from "../compare/pairCaptures.ts";
import { phraseValue } from "../compare/phrase.ts";
import { worsening } from "../compare/worsening.ts";
import { LEVEL } from "../judge/coverage.ts";
import type { Result, ResultCapture, ResultFigure } from "../result.ts";
import { type Allowances, allowanceOf } from "./allowance.ts";
import type { RegressCase, Regression } from "./regression.ts";

export interface RegressOptions {
  readonly shared: Shared;
  /** From the command line; comes before what the bench files state. */
  readonly allow: Allowances;
}

/**
 * Whether a revision got worse. Each metric that has a worse direction is judged: worse when the whole joint interval of its worsening lies beyond the allowed
 * change. The intervals are taken together (Bonferroni), so that one of many metrics does not fail a revision by chance; a metric that is
 * beyond its own 95 % interval only is undecided. A metric unchanged within the uncertainty is not worse. A metric of the baseline that is not measured
 * any more has vanished.
 * Source: JCGM 106:2012, 8.3 (guarded decisions); Dunn, "Multiple comparisons among means", JASA 56, 1961 (joint level).
 */
export function regress(baseline: Result, now: Result, options: RegressOptions): Regression {
  const pairing = pairCaptures(baseline.captures, now.captures);
  const stated = [baseline.bench.allow, now.bench.allow];
  const allow = (metric: MetricName): number | null => allowanceOf(metric, options.allow, stated);
  const open = pairing.pairs.flatMap((pair) => openCases(pair, allow));
  const judged = open.filter((c) => c.pair !== null).length;
  const jointLevel = 1 - (1 - LEVEL) / Math.max(1, judged);
  const cases = [
    ...open.map((c) => close(c, options.shared, jointLevel, judged)),
    ...pairing.onlyFirst.flatMap((capture) => vanishedCapture(capture, now, allow)),
  ];
  const failed = cases.some((c) => c.decision === "worse" || c.decision === "vanished");
  const undecided = cases.some((c) => c.decision === "undecided");
  const apart = pairing.pairs.flatMap((pair) => unlikes(pair).map((u) => `${pair.first.name}: ${u.text}`));
  return {
    cases,
    decision: failed ? "worse" : undecided ? "undecided" : "not worse",
    judged,
    chanceAlone: 1 - (1 - (1 - LEVEL) / 2) ** judged,
    correlation: correlationOf(
      cases.flatMap((c) => [c.baseline, c.now]),
      options.shared,
    ),
    remarks: [
      ...apart,
      ...pairing.onlySecond.map((c) => `Capture ${c.name} is new: the baseline has none to compare it with.`),
    ],
  };
}

/** A case before the decision; with a pair of figures where there is something to subtract. */
interface OpenCase extends Omit<RegressCase, "worsening" | "decision" | "reason" | "blind"> {
  readonly pair: readonly [ResultFigure, ResultFigure] | null;
  readonly unlike: readonly Unlike[];
}

function known(figure: ResultFigure | null | undefined): figure is ResultFigure {
  return figure != null && (figure.value !== null || figure.low !== null || figure.high !== null);
}

function openCases(pair: CapturePair, allow: (metric: MetricName) => number | null): OpenCase[] {
  const { first, second } = pair;
  const volts = resolutionsDiffer(first, second);
  const apart = unlikes(pair);
  return METRIC_NAMES.filter((m) => METRICS[m].worse !== null).flatMap((metric): OpenCase[] => {
    const own = [comparableFigure(first, metric), comparableFigure(second, metric)] as const;
    if (!known(own[0]) && !known(own[1])) return [];
    // The extremes of one record against those of another would fail or pass by chance; only a stated allowance makes them a gate.
    if (metric === "noisePeakToPeak" && allow(metric) === null) return [];
    const stated = volts ? ([toVolts(metric, own[0], first), toVolts(metric, own[1], second)] as const) : own;
    const unit = stated[0]?.unit ?? stated[1]?.unit ?? METRICS[metric].unit;
    const allowed = allow(metric);
    const inVolts = unit !== METRICS[metric].unit;
    return [
      {
        metric,
        capture: first.name,
        unit,
        baseline: stated[0],
        now: stated[1],
        allowed: allowed === null ? null : inVolts ? allowed * first.converter.scale.lsb : allowed,
        pair: known(stated[0]) && known(stated[1]) ? [stated[0], stated[1]] : null,
        unlike: apart.filter((u) => u.metrics.includes(metric)),
      },
    ];
  });
}

function close(c: OpenCase, shared: Shared, jointLevel: number, judged: number): RegressCase {
  const { pair, unlike, ...base } = c;
  if (pair === null) {
    if (!known(c.baseline))
      return { ...base, worsening: null, decision: "new", reason: "The baseline had none.", blind: false };
    const why = c.now?.reason ?? "it is not in the new result";
    return {
      ...base,
      worsening: null,
      decision: "vanished",
      reason: `The baseline had ${sayFigure(c.baseline)}; now it is not measured: ${why}`,
      blind: false,
    };
  }
  const alone = worsening(c.metric, pair[0], pair[1], { shared })!;
  const spoilt = unlike.find((u) => u.spoils);
  if (spoilt !== undefined)
    return { ...base, worsening: alone, decision: "undecided", reason: spoilt.text, blind: true };
  const together = worsening(c.metric, pair[0], pair[1], { shared, level: jointLevel })!;
  const { decision, reason } = decide(alone, together, c.allowed, c.unit, judged);
  const blind = c.allowed !== null && alone.uncertainty !== null && alone.uncertainty > c.allowed;
  return { ...base, worsening: alone, decision, reason, blind };
}

/**
 * The decision on one metric.
 * @param alone     its worsening with the 95 % interval
 * @param together  the same with the interval that holds for all metrics at once
 */
function decide(
  alone: Difference,
  together: Difference,
  allowed: number | null,
  unit: string,
  judged: number,
): Pick<RegressCase, "decision" | "reason"> {
  const a = allowed ?? 0;
  const say = (x: number): string => phraseValue(x, unit);
  const beyond = allowed === null ? "" : ` beyond the allowed ${say(a)}`;
  if (together.low !== null && together.low > a)
    return {
      decision: "worse",
      reason: `Worse by at least ${say(together.low)}${allowed === null ? "" : `, allowed ${say(a)}`}.`,
    };
  if (alone.low !== null && alone.low > a)
    return {
      decision: "undecided",
      reason: `Worse${beyond} by its own uncertainty, but of ${judged} metrics judged together one may seem so by chance; capture both again, or longer.`,
    };
  if (alone.high !== null && alone.high < 0)
    return { decision: "not worse", reason: "Better, beyond the uncertainty." };
  if (alone.low === 0 && alone.high === 0) return { decision: "not worse", reason: "Unchanged." };
  if (allowed !== null && alone.high !== null && alone.high <= a)
    return { decision: "not worse", reason: `Worse by at most ${say(alone.high)}, inside the allowed ${say(a)}.` };
  if (alone.low !== null && alone.high !== null && alone.low <= 0)
    return {
      decision: "not worse",
      reason: `Unchanged within the uncertainty; a worsening of less than ${say(alone.uncertainty ?? alone.high)} cannot be seen.`,
    };
  if (alone.low !== null && alone.high !== null)
    return {
      decision: "undecided",
      reason: `Worse, by ${say(alone.low)} to ${say(alone.high)}: whether${beyond || " at all"} is not decided. A longer capture narrows it.`,
    };
  if (alone.value !== null && alone.low === null && alone.high === null && (alone.value <= a || allowed !== null))
    return alone.value <= a
      ? { decision: "not worse", reason: "Not worse by the values alone: they carry no interval." }
      : {
          decision: "worse",
          reason: `Worse by ${say(alone.value)}, allowed ${say(a)}, by the values alone: they carry no interval.`,
        };
  return {
    decision: "undecided",
    reason: "One of the two is only a bound or carries no interval, which does not decide it.",
  };
}

function sayFigure(figure: ResultFigure): string {
  if (figure.value !== null) return phraseValue(figure.value, figure.unit, 4);
  return figure.high !== null
    ? `at most ${phraseValue(figure.high, figure.unit)}`
    : `at least ${phraseValue(figure.low ?? 0, figure.unit)}`;
}

/** Every metric of a capture that the new result does not have. */
function vanishedCapture(
  capture: ResultCapture,
  now: Result,
  allow: (metric: MetricName) => number | null,
): RegressCase[] {
  const unreadable = now.unreadable.find((u) => u.name === capture.name);
  const why =
    unreadable === undefined
      ? "the new result has no such capture"
      : `its log cannot be read (${(unreadable.problems ?? []).join("; ")})`;
  return METRIC_NAMES.filter((m) => METRICS[m].worse !== null && known(capture.metrics[m])).map(
    (metric): RegressCase => {
      const figure = capture.metrics[metric]!;
      return {
        metric,
        capture: capture.name,
        unit: figure.unit,
        baseline: figure,
        now: null,
        worsening: null,
        allowed: allow(metric),
        decision: "vanished",
        reason: `The baseline had ${sayFigure(figure)}; now it is not measured: ${why}`,
        blind: false,
      };
    },
  );
}
