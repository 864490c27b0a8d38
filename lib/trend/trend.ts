import { METRIC_NAMES, METRICS, type MetricName } from "../bench/metrics.ts";
import { comparableFigure, resolutionsDiffer, toVolts } from "../compare/compare.ts";
import {
  type Difference,
  difference,
  isShared,
  limitsOf,
  recordStandard,
  type Shared,
  statedStandard,
} from "../compare/difference.ts";
import { pairCaptures } from "../compare/pairCaptures.ts";
import { phraseDifference } from "../compare/phrase.ts";
import { halfWidth, Z95 } from "../judge/coverage.ts";
import type { Result, ResultCapture, ResultFigure } from "../result.ts";
import { type Slope, weightedSlope } from "./slope.ts";

export interface TrendInput {
  readonly name: string;
  readonly result: Result;
}

export interface TrendOptions {
  /** Keep the order of the command line; otherwise by the date each was written, where all have one. */
  readonly asGiven: boolean;
  /** Only these; empty for all that occur at least twice. */
  readonly metrics: readonly MetricName[];
  readonly shared: Shared;
}

/** One result on the way: a revision, a board, a day. */
export interface TrendPoint {
  readonly name: string;
  /** What tells it apart: the conditions that vary, else the file's name. */
  readonly label: string;
  readonly written: string | null;
  readonly conditions: Readonly<Record<string, string>>;
  readonly title: string;
}

/** One metric of one capture over all points. */
export interface TrendSeries {
  readonly metric: MetricName;
  readonly capture: string;
  readonly unit: string;
  /** One a point; null where that result does not have it. */
  readonly figures: readonly (ResultFigure | null)[];
  readonly limits: readonly { readonly bound: "min" | "max"; readonly limit: number }[];
  /** From the last point but one that has a value to the last. */
  readonly lastStep: {
    readonly from: number;
    readonly to: number;
    readonly difference: Difference;
    readonly exceeds: boolean;
  } | null;
  /** Rise for each point; null for fewer than three. */
  readonly slope: (Slope & { readonly exceeds: boolean }) | null;
  /** What the figure shows, one sentence. */
  readonly sentence: string;
}

export interface Trend {
  readonly order: "by date" | "as given";
  readonly points: readonly TrendPoint[];
  readonly series: readonly TrendSeries[];
}

/** Metrics over revisions and dates. Captures are matched with those of the last result. */
export function trend(inputs: readonly TrendInput[], options: TrendOptions): Trend {
  const dated = !options.asGiven && inputs.every(({ result }) => result.written !== null);
  const ordered = dated
    ? [...inputs].sort((a, b) =>
        a.result.written! < b.result.written! ? -1 : a.result.written! > b.result.written! ? 1 : 0,
      )
    : [...inputs];
  const last = ordered.at(-1)?.result;
  const labels = labelsOf(ordered);
  const points = ordered.map(
    ({ name, result }, i): TrendPoint => ({
      name,
      label: labels[i]!,
      written: result.written,
      conditions: result.bench.conditions,
      title: result.bench.title,
    }),
  );
  const lines = captureLines(ordered.map(({ result }) => result));
  const limits = last?.verdict.limits ?? [];
  const series = METRIC_NAMES.filter((m) => options.metrics.length === 0 || options.metrics.includes(m)).flatMap(
    (metric) =>
      lines.flatMap((line): TrendSeries[] => {
        const known = line.filter((c) => c?.metrics[metric]?.value != null).length;
        if (known < (options.metrics.length === 0 ? 2 : 1)) return [];
        const name = line.findLast((c) => c !== null)!.name;
        const own = limits.filter(
          (l) => (l.metric === metric || GROUPS[metric] === l.metric) && (l.capture === null || l.capture === name),
        );
        return [seriesOf(metric, name, line, own, points, options.shared)];
      }),
  );
  return { order: dated ? "by date" : "as given", points, series };
}

/** The same capture through all results, one list each, null where a result has none. Matched from the last backwards, so that names are today's. */
function captureLines(results: readonly Result[]): (ResultCapture | null)[][] {
  const lines: { shown: ResultCapture; line: (ResultCapture | null)[] }[] = [];
  for (let i = results.length - 1; i >= 0; i--) {
    const { pairs, onlySecond } = pairCaptures(
      lines.map((l) => l.shown),
      results[i]!.captures,
    );
    for (const { first, second } of pairs) lines.find((l) => l.shown === first)!.line[i] = second;
    for (const capture of onlySecond) {
      const line = new Array<ResultCapture | null>(results.length).fill(null);
      line[i] = capture;
      lines.push({ shown: capture, line });
    }
  }
  return lines.map((l) => l.line);
}

const GROUPS: Partial<Record<MetricName, string>> = { inlMax: "inl", inlMin: "inl", dnlMax: "dnl", dnlMin: "dnl" };

function seriesOf(
  metric: MetricName,
  capture: string,
  line: readonly (ResultCapture | null)[],
  limits: readonly { bound: "min" | "max"; limit: number }[],
  points: readonly TrendPoint[],
  shared: Shared,
): TrendSeries {
  const present = line.filter((c) => c !== null);
  const volts = present.some((c) => resolutionsDiffer(present[0]!, c));
  const figures = line.map((c) => {
    const figure = c === null ? null : comparableFigure(c, metric);
    return c === null || !volts ? figure : toVolts(metric, figure, c);
  });
  const withValue = figures.flatMap((f, i) => (f?.value != null ? [i] : []));
  const unit = figures[withValue[0] ?? 0]?.unit ?? METRICS[metric].unit;
  const [from, to] = withValue.slice(-2);
  const step = from === undefined || to === undefined ? null : difference(figures[from]!, figures[to]!, { shared });
  const lastStep =
    step === null ? null : { from: from!, to: to!, difference: step, exceeds: exceeds(step.low, step.high) };
  const slope = slopeOf(figures, withValue, shared);
  const factor = unit === METRICS[metric].unit ? 1 : (present.at(-1)?.converter.scale.lsb ?? 1);
  return {
    metric,
    capture,
    unit,
    figures,
    limits: limits.map(({ bound, limit }) => ({ bound, limit: limit * factor })),
    lastStep,
    slope,
    sentence: sentenceOf(unit, lastStep, slope, points) + goneSentence(figures, points),
  };
}

function exceeds(low: number | null, high: number | null): boolean {
  return (low !== null && low > 0) || (high !== null && high < 0);
}

function slopeOf(
  figures: readonly (ResultFigure | null)[],
  withValue: readonly number[],
  shared: Shared,
): TrendSeries["slope"] {
  const used = withValue.filter((i) => figures[i]!.uncertainty !== null);
  const standards = used.map((i) => {
    const figure = figures[i]!;
    const limits = limitsOf(figure);
    const own = recordStandard(
      figure.uncertainty!,
      limits.map((l) => l.halfWidth),
      statedStandard(figure),
    );
    // What the same source leaves in every point alike shifts them all and does not tilt them.
    const apart = limits.filter((l) => !isShared(l.from, shared)).map((l) => l.halfWidth);
    return halfWidth(own, apart) / Z95;
  });
  const slope = weightedSlope(
    used,
    used.map((i) => figures[i]!.value!),
    standards,
  );
  return slope === null ? null : { ...slope, exceeds: Math.abs(slope.perStep) > slope.uncertainty };
}

function sentenceOf(
  unit: string,
  lastStep: TrendSeries["lastStep"],
  slope: TrendSeries["slope"],
  points: readonly TrendPoint[],
): string {
  if (lastStep === null) return "One value only: nothing to compare it with yet.";
  const step = `From ${points[lastStep.from]!.label} to ${points[lastStep.to]!.label} it changed by ${phraseDifference(lastStep.difference, unit)}, ${lastStep.difference.uncertainty === null ? "without an interval to judge it by" : lastStep.exceeds ? "more than the uncertainty" : "within the uncertainty"}.`;
  if (slope === null) return step;
  const rise = phraseDifference({ value: slope.perStep, low: null, high: null, uncertainty: slope.uncertainty }, unit);
  const scatter = slope.scatter > 2 ? " The points scatter more than their uncertainties explain." : "";
  return `${step} Over ${slope.points} points the slope is ${rise} a step, ${slope.exceeds ? "more than" : "within"} its uncertainty.${scatter}`;
}

function goneSentence(figures: readonly (ResultFigure | null)[], points: readonly TrendPoint[]): string {
  const last = figures.at(-1) ?? null;
  if (last?.value != null) return "";
  return ` Not measured in ${points.at(-1)!.label}${last?.reason === undefined ? "" : `: ${last.reason}`}.`;
}

/** The conditions that vary from point to point, else the file's stem; numbered where they repeat. */
function labelsOf(inputs: readonly TrendInput[]): string[] {
  const all = inputs.map(({ result }) => result.bench.conditions);
  const keys = [...new Set(all.flatMap((c) => Object.keys(c)))].filter(
    (k) => new Set(all.map((c) => c[k] ?? "")).size > 1,
  );
  const texts = inputs.map(({ name }, i) => {
    const told = keys.map((k) => all[i]![k]).filter((v) => v !== undefined);
    return told.length > 0
      ? told.join(", ")
      : (name.split(/[\\/]/).at(-1) ?? name).replace(/(\.report)?\.[a-z]+$/i, "");
  });
  const dates = inputs.map(({ result }) => result.written?.slice(0, 10) ?? null);
  const unique = new Set(texts).size === texts.length;
  const byDate = texts.map((t, i) => (dates[i] === null ? t : `${t}, ${dates[i]}`));
  if (unique) return texts;
  if (new Set(byDate).size === byDate.length) return byDate;
  return texts.map((t, i) => (texts.filter((other) => other === t).length > 1 ? `${t} (${i + 1})` : t));
}
