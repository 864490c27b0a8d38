import { METRICS, type MetricName } from "../bench/metrics.ts";
import type { ResultCapture, ResultFigure } from "../result.ts";
import { answer } from "./answer.ts";
import { type ComparedInput, columnsOf } from "./columns.ts";
import type { Change, ComparedColumn, ComparedMetric, Comparison } from "./comparison.ts";
import { type Difference, difference, isShared, limitsOf, type Shared } from "./difference.ts";
import { metricsOf, unlikes } from "./likeForLike.ts";
import { type CapturePair, pairCaptures } from "./pairCaptures.ts";
import { inVolts, repeatable } from "./restate.ts";
import { worsening } from "./worsening.ts";

/** Compares every column with the first. @returns null when there are not two columns to compare */
export function compare(inputs: readonly ComparedInput[], shared: Shared): Comparison | null {
  const [reference, ...rest] = columnsOf(inputs);
  if (reference === undefined || rest.length === 0) return null;
  const others = rest.map((column): ComparedColumn => {
    const pairing = pairCaptures(reference.captures, column.captures);
    return {
      column,
      pairing,
      metrics: pairing.pairs.flatMap((pair) => comparePair(pair, shared)),
      unlike: pairing.pairs.flatMap((pair) => unlikes(pair).map((unlike) => ({ capture: pair.first.name, unlike }))),
    };
  });
  return {
    reference,
    others,
    shared,
    correlation: correlationOf(
      others.flatMap(({ metrics }) => metrics.flatMap((m) => [m.first, m.second])),
      shared,
    ),
    answer: answer(reference, others),
  };
}

function comparePair(pair: CapturePair, shared: Shared): ComparedMetric[] {
  const { first, second } = pair;
  const apart = unlikes(pair);
  const volts = resolutionsDiffer(first, second);
  return metricsOf(pair).map((metric): ComparedMetric => {
    const own = [comparableFigure(first, metric), comparableFigure(second, metric)] as const;
    const stated = volts ? ([toVolts(metric, own[0], first), toVolts(metric, own[1], second)] as const) : own;
    const converted = stated[0]?.unit !== own[0]?.unit || stated[1]?.unit !== own[1]?.unit;
    const unlike = apart.filter((u) => u.metrics.includes(metric));
    const base = {
      metric,
      capture: first.name === second.name ? first.name : `${first.name}, ${second.name}`,
      unit: stated[0]?.unit ?? stated[1]?.unit ?? METRICS[metric].unit,
      first: stated[0],
      second: stated[1],
      inLsb: converted ? { first: own[0], second: own[1] } : null,
    };
    const notes = unlike.map((u) => u.text).join(" ");
    if (stated[0] === null || stated[1] === null || unlike.some((u) => u.spoils)) {
      const missing = stated[0] === null ? "first" : "second";
      const note = stated[0] === null || stated[1] === null ? `Not in the ${missing}.` : notes;
      return { ...base, difference: NONE, change: "not comparable", note };
    }
    const d = difference(stated[0], stated[1], { shared });
    const change = changeOf(metric, stated[0], stated[1], d, shared);
    const why = change === "not comparable" ? reasonOf(metric, stated[0], stated[1]) : null;
    return { ...base, difference: d, change, note: [why, notes].filter(Boolean).join(" ") || null };
  });
}

/** A capture's figure as it can be compared with another capture's; null where it has none. */
export function comparableFigure({ metrics }: ResultCapture, metric: MetricName): ResultFigure | null {
  const figure = metrics[metric];
  return figure === undefined ? null : repeatable(metric, figure);
}

const NONE: Difference = { value: null, low: null, high: null, uncertainty: null };

/** Whether two captures' LSB are different numbers of volts. */
export function resolutionsDiffer(first: ResultCapture, second: ResultCapture): boolean {
  const [a, b] = [first.converter.scale.lsb, second.converter.scale.lsb];
  return Math.abs(a - b) > 1e-9 * Math.max(a, b);
}

/** A figure in volts where it is in LSB, else as it is. */
export function toVolts(metric: MetricName, figure: ResultFigure | null, capture: ResultCapture): ResultFigure | null {
  return figure === null ? null : (inVolts(metric, figure, capture.converter) ?? figure);
}

function exceeds(d: Difference): boolean {
  return (d.low !== null && d.low > 0) || (d.high !== null && d.high < 0);
}

function changeOf(metric: MetricName, a: ResultFigure, b: ResultFigure, d: Difference, shared: Shared): Change {
  if (d.low === null && d.high === null) return "not comparable";
  const worse = worsening(metric, a, b, { shared });
  if (worse === null) return exceeds(d) ? "changed" : "within uncertainty";
  if (worse.low !== null && worse.low > 0) return "worse";
  if (worse.high !== null && worse.high < 0) return "better";
  // An offset may have moved without having grown.
  if (METRICS[metric].worse === "magnitude" && exceeds(d)) return "changed";
  return d.low === null || d.high === null ? "not comparable" : "within uncertainty";
}

function reasonOf(metric: MetricName, a: ResultFigure, b: ResultFigure): string {
  if (metric === "noisePeakToPeak")
    return "Extremes of one record each: the next record has others, so that a difference says nothing; compare the rms noise.";
  const reasons = [a, b].flatMap((f, i) =>
    f.value === null ? [`${i === 0 ? "First" : "Second"}: ${f.reason ?? "not measured"}.`] : [],
  );
  return reasons.length > 0
    ? reasons.join(" ")
    : "One of the two carries no interval, so that the difference cannot be judged.";
}

/** How the limits of source, front end and reference were taken, one sentence; null where no figure carries any. */
export function correlationOf(figures: readonly (ResultFigure | null)[], shared: Shared): string | null {
  const froms = new Set(figures.flatMap((f) => (f === null ? [] : limitsOf(f).map((l) => l.from))));
  const both = { source: true, board: true };
  const common = [...froms].filter((from) => isShared(from, both));
  if (common.length === 0) return null;
  const cancelled = common.filter((from) => isShared(from, shared));
  const independent = common.filter((from) => !isShared(from, shared));
  const parts: string[] = [];
  if (cancelled.length > 0)
    parts.push(`${list(cancelled)} taken as one and the same error in both captures, so that it cancels`);
  if (independent.length > 0) {
    const options = [
      ...(independent.some((from) => isShared(from, { source: true, board: false })) ? ["--same-source"] : []),
      ...(independent.some((from) => isShared(from, { source: false, board: true })) ? ["--same-board"] : []),
    ];
    parts.push(
      `${list(independent)} taken as independent in each capture (${options.join(", ")} if the same one served both)`,
    );
  }
  return `Limits of ${parts.join("; ")}.`;
}

function list(items: readonly string[]): string {
  return items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;
}
