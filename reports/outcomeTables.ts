import type { Comparison } from "../lib/compare/comparison.ts";
import type { Regression } from "../lib/regress/regression.ts";
import type { Trend } from "../lib/trend/trend.ts";
import { csvLine } from "./tableText.ts";

/** A comparison as CSV, one row a metric: numbers in full, in the unit named, differences second minus first. */
export function comparisonCsv({ reference, others }: Comparison): string {
  const head = ["metric", "capture", "first", "second", "unit", "first value", "first low", "first high"];
  const rows = others.flatMap(({ column, metrics }) =>
    metrics.map((m) =>
      csvLine([
        m.metric,
        m.capture,
        reference.label,
        column.label,
        m.unit,
        ...ends(m.first),
        ...ends(m.second),
        ...ends(m.difference),
        m.change,
        m.note,
      ]),
    ),
  );
  return (
    csvLine([
      ...head,
      "second value",
      "second low",
      "second high",
      "difference",
      "difference low",
      "difference high",
      "change",
      "note",
    ]) + rows.join("")
  );
}

/** A regression as CSV, one row a metric: worsening is positive where it got worse. */
export function regressionCsv({ cases }: Regression): string {
  const head = [
    "metric",
    "capture",
    "unit",
    "baseline",
    "baseline low",
    "baseline high",
    "now",
    "now low",
    "now high",
    "worsening",
    "worsening low",
    "worsening high",
    "allowed",
    "decision",
    "reason",
  ];
  const rows = cases.map((c) =>
    csvLine([
      c.metric,
      c.capture,
      c.unit,
      ...ends(c.baseline),
      ...ends(c.now),
      ...ends(c.worsening),
      c.allowed,
      c.decision,
      c.reason,
    ]),
  );
  return csvLine(head) + rows.join("");
}

/** A trend as CSV, one row a metric and result; a metric that a result does not have has an empty value. */
export function trendCsv({ points, series }: Trend): string {
  const rows = series.flatMap((s) =>
    s.figures.map((figure, i) =>
      csvLine([s.metric, s.capture, points[i]!.label, points[i]!.name, points[i]!.written, s.unit, ...ends(figure)]),
    ),
  );
  return csvLine(["metric", "capture", "result", "file", "written", "unit", "value", "low", "high"]) + rows.join("");
}

type Ends = { readonly value: number | null; readonly low: number | null; readonly high: number | null };

function ends(interval: Ends | null): (number | null)[] {
  return interval === null ? [null, null, null] : [interval.value, interval.low, interval.high];
}
