import type { Bench, CaptureSpec, Limit, LimitMetric } from "../bench/bench.ts";
import { METRICS } from "../bench/metrics.ts";
import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Finding } from "../match/finding.ts";
import { captureGroups, isMeant } from "./captureGroups.ts";
import { decideBound } from "./decideBound.ts";
import { disagreement } from "./disagreement.ts";
import type { Figures, LimitRow, Verdict } from "./figure.ts";
import { isDetermined, type LimitInterval, limitInterval } from "./limitInterval.ts";
import { definitionAllowance, seesPointsOnly } from "./pointsOnly.ts";
import { captureFor, remedyFor } from "./remedy.ts";
import { bestWithoutSource, impurityRemedy } from "./sourceImpurity.ts";

/** What judging needs of a scored capture; CaptureScore has it all. */
export interface JudgedCapture {
  readonly spec: CaptureSpec;
  readonly record: {
    readonly channel: string;
    readonly codes: { readonly length: number };
    readonly stimulus: PinStimulus | null;
  };
  readonly figures: Figures;
}

export interface Judgement {
  readonly verdict: Verdict;
  /** captures-disagree, by the name of the capture it is about. */
  readonly findings: ReadonlyMap<string, readonly Finding[]>;
}

/**
 * A session's figures against its limits. Each limit is judged once per channel and setting, by the capture whose interval is smallest (a choice
 * that never looks at the value), unless the limit names its capture; for extremes over the range, captures of every code come before steps. min and max are two rows. A fail that the source's own stated
 * impurity could explain is undecided. A limit that no capture determines is "not measured".
 * @returns the rows in the limits' order, and the verdict: fail before undecided before pass; "none" when there are no limits
 * Source: JCGM 106:2012; ILAC-G8:09/2019; DESIGN §6.
 */
export function judge(bench: Pick<Bench, "limits" | "decision">, captures: readonly JudgedCapture[]): Judgement {
  const rows: LimitRow[] = [];
  const findings = new Map<string, Finding[]>();
  for (const limit of bench.limits) {
    for (const bound of ["min", "max"] as const) {
      const at = limit[bound];
      if (at === null) continue;
      const judged = judgeBound(limit, bound, at, captures, bench.decision);
      rows.push(...judged.rows);
      for (const { capture, finding } of judged.findings) {
        const known = findings.get(capture) ?? [];
        // min and max of one metric would say the same thing twice.
        if (!known.some((f) => f.text === finding.text)) findings.set(capture, [...known, finding]);
      }
    }
  }
  return { verdict: { decision: overall(rows), limits: rows }, findings };
}

function overall(rows: readonly LimitRow[]): Verdict["decision"] {
  if (rows.length === 0) return "none";
  if (rows.some((r) => r.decision === "fail")) return "fail";
  return rows.every((r) => r.decision === "pass") ? "pass" : "undecided";
}

interface Candidate {
  readonly capture: JudgedCapture;
  readonly interval: LimitInterval;
}

function judgeBound(
  limit: Limit,
  bound: "min" | "max",
  at: number,
  captures: readonly JudgedCapture[],
  rule: Bench["decision"],
): { rows: LimitRow[]; findings: { capture: string; finding: Finding }[] } {
  const { metric } = limit;
  const rows: LimitRow[] = [];
  const findings: { capture: string; finding: Finding }[] = [];
  for (const group of captureGroups(captures.filter((c) => isMeant(limit, c)))) {
    const tried = group.flatMap((capture): Candidate[] => {
      const interval = limitInterval(capture.figures, metric, bound, at);
      return interval === null ? [] : [{ capture, interval }];
    });
    const determined = tried.filter(({ interval }) => isDetermined(interval));
    // Captures that were never meant to show the metric say nothing about it; one that tried and could not leaves the limit open.
    if (tried.length === 0) continue;
    const whole = determined.filter(({ capture }) => !seesPointsOnly(metric, capture));
    const chosen = (whole.length > 0 ? whole : determined).reduce<Candidate | null>(
      (best, c) => (best === null || c.interval.width < best.interval.width ? c : best),
      null,
    );
    if (chosen === null) {
      const [first] = tried;
      rows.push(notMeasured(limit, bound, at, first!, tried));
      continue;
    }
    rows.push(rowOf(limit, bound, at, chosen, rule));
    for (const other of determined) {
      if (other === chosen) continue;
      const finding = disagreement(
        metric,
        { capture: chosen.capture.spec.name, interval: chosen.interval },
        { capture: other.capture.spec.name, interval: other.interval },
        definitionAllowance(metric, chosen.capture, other.capture),
      );
      if (finding !== null) findings.push({ capture: other.capture.spec.name, finding });
    }
  }
  if (rows.length === 0) rows.push(notMeasured(limit, bound, at, null, []));
  return { rows, findings };
}

function rowOf(limit: Limit, bound: "min" | "max", at: number, chosen: Candidate, rule: Bench["decision"]): LimitRow {
  const { capture, interval } = chosen;
  const { value, low, high, unit } = interval;
  let decision = decideBound(bound, at, interval, rule);
  let remedy: string | null = null;
  if (decision === "fail") {
    const best = bestWithoutSource(limit.metric, capture.figures, capture.record.stimulus);
    if (best !== null && decideBound(bound, at, { value: best, low: best, high: best }, "simple") === "pass") {
      decision = "undecided";
      remedy = impurityRemedy(capture.record.stimulus);
    }
  } else if (decision === "undecided") {
    remedy = remedyFor(interval, at, capture.record.codes.length);
  }
  return {
    metric: limit.metric,
    bound,
    limit: at,
    unit,
    capture: capture.spec.name,
    channel: capture.record.channel,
    value,
    low,
    high,
    uncertainty: low === null || high === null ? null : (high - low) / 2,
    decision,
    remedy,
  };
}

function notMeasured(
  limit: Limit,
  bound: "min" | "max",
  at: number,
  about: Candidate | null,
  tried: readonly Candidate[],
): LimitRow {
  const reasons = tried.flatMap(({ capture, interval }) =>
    interval.figure.reason === undefined ? [] : [`In ${capture.spec.name}: ${interval.figure.reason}.`],
  );
  const where = [
    limit.capture === null ? null : `capture ${limit.capture}`,
    limit.channel === null ? null : `channel ${limit.channel}`,
  ].filter((w) => w !== null);
  return {
    metric: limit.metric,
    bound,
    limit: at,
    unit: about?.interval.unit ?? unitOf(limit.metric),
    capture: about?.capture.spec.name ?? limit.capture,
    channel: about?.capture.record.channel ?? limit.channel,
    value: null,
    low: null,
    high: null,
    uncertainty: null,
    decision: "not measured",
    remedy:
      reasons.length > 0
        ? reasons.join(" ")
        : `${where.length > 0 ? `Nothing in ${where.join(", ")} determines it` : "No capture of this session determines it"}; ${captureFor(limit.metric)} would.`,
  };
}

function unitOf(metric: LimitMetric): string {
  return metric === "inl" || metric === "dnl" ? "LSB" : METRICS[metric].unit;
}
