import type { Trend, TrendSeries } from "../lib/trend/trend.ts";
import { inOneUnit } from "./inUnit.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { metricListed } from "./metricListed.ts";
import { counted, shown } from "./number.ts";
import { SIMULATED } from "./simulatedResult.ts";
import { spreadText, terminalTable, width } from "./terminalTable.ts";
import { cleanText, inkLast, paragraph, type TextOptions } from "./terminalText.ts";

/** What moved at the last step, in one sentence. */
export function trendHeadline({ points, series }: Trend): string {
  const last = points.at(-1);
  const moved = series.filter((s) => s.lastStep?.exceeds && s.lastStep.to === points.length - 1);
  const names = [...new Set(moved.map((s) => metricListed(s.metric)))];
  const listed = names.length > 5 ? `${names.slice(0, 5).join(", ")} and ${names.length - 5} more` : names.join(", ");
  const what = `${counted(points.length, "result")}, ${counted(series.length, "metric")}`;
  return names.length === 0
    ? `${what}: nothing changed at the last step (to ${last?.label ?? "–"}) by more than its uncertainty.`
    : `${what}: at the last step (to ${last?.label ?? "–"}) more than the uncertainty: ${listed}.`;
}

/** A trend on the terminal: the points, then one row a metric: last value, last step, slope. */
export function trendText(trend: Trend, simulated: boolean, options: TextOptions): string {
  const columns = Math.max(60, options.columns);
  const out = [
    ...paragraph(trendHeadline(trend), columns),
    ...(simulated ? [SIMULATED] : []),
    "",
    `Points ${trend.order}:`,
    ...trend.points.flatMap((p, i) =>
      paragraph(
        `${i + 1}  ${p.label}${p.written === null ? "" : `, ${p.written.slice(0, 10)}`}: ${p.name}`,
        columns,
        "   ",
      ),
    ),
    "",
    ...seriesTables(trend.series, columns, options.colour),
  ];
  if (options.pagePath !== null) out.push(`Page: ${options.pagePath}`);
  while (out.at(-1) === "") out.pop();
  return `${out.join("\n")}\n`;
}

/** One table for each capture; names give way before numbers do. */
function seriesTables(series: readonly TrendSeries[], columns: number, colour: boolean): string[] {
  if (series.length === 0) return ["No metric occurs in two of the results.", ""];
  const captures = [...new Set(series.map((s) => s.capture))];
  return captures.flatMap((capture) => {
    const own = series.filter((s) => s.capture === capture);
    const lines = seriesTable(own, false);
    const fitting = lines.some((l) => width(l) > columns) ? seriesTable(own, true) : lines;
    const coloured = fitting.map((line, i) =>
      i > 0 && own[i - 1]!.lastStep?.exceeds ? inkLast(line, "moved", "open", colour) : line,
    );
    return captures.length > 1 ? [cleanText(capture), ...coloured, ""] : [...coloured, ""];
  });
}

function seriesTable(series: readonly TrendSeries[], short: boolean): string[] {
  const sloped = series.some((s) => s.slope !== null);
  return terminalTable(
    [
      { head: "metric", align: "left" },
      { head: "last", align: "point" },
      { head: "last step", align: "point" },
      { head: "±", align: "point" },
      ...(sloped
        ? [
            { head: "a step", align: "point" as const },
            { head: "±", align: "point" as const },
          ]
        : []),
      { head: "unit", align: "left" },
      { head: "", align: "left" },
    ],
    series.map((s) => {
      const last = s.figures.findLast((f) => f?.value != null) ?? null;
      const slope =
        s.slope === null
          ? null
          : { value: s.slope.perStep, low: null, high: null, uncertainty: s.slope.uncertainty, unit: s.unit };
      const step = s.lastStep === null ? null : { ...s.lastStep.difference, unit: s.unit };
      const { row, unit } = inOneUnit([last, step, slope], s.unit);
      const [v, d, b] = row;
      const shownStep = d ? shown(d, { signed: true }) : null;
      const shownSlope = b ? shown(b, { signed: true }) : null;
      return [
        short ? s.metric : metricLabel(s.metric),
        v ? shown(v, { signed: isSigned(s.metric) }).value : "–",
        shownStep?.value ?? "–",
        shownStep === null ? "" : spreadText(shownStep),
        ...(sloped ? [shownSlope?.value ?? "–", shownSlope === null ? "" : spreadText(shownSlope)] : []),
        unit,
        s.lastStep?.exceeds ? "moved" : "",
      ];
    }),
  );
}
