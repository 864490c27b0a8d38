import type { Trend, TrendPoint, TrendSeries } from "../lib/trend/trend.ts";
import type { ResultPageOptions } from "./comparePage.ts";
import { renderFigureRow } from "./figure.ts";
import type { FigureSpec } from "./figureSpec.ts";
import { type Html, html } from "./html.ts";
import { inOneUnit } from "./inUnit.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { NOISE_METRICS, STATIC_METRICS, TONE_METRICS } from "./metricTable.ts";
import { plain, shownText } from "./number.ts";
import { renderShell, type SectionSpec } from "./shell.ts";
import { renderTable, type TableSpec } from "./table.ts";
import { trendHeadline } from "./trendText.ts";

const QUESTIONS = [
  { id: "straight", heading: "How far off, and how straight?", metrics: STATIC_METRICS },
  { id: "clean", heading: "How clean?", metrics: TONE_METRICS },
  { id: "quiet", heading: "How quiet?", metrics: NOISE_METRICS },
] as const;

/** The page of a trend: what moved, then one figure a metric with its limits. */
export function renderTrendPage(trend: Trend, options: ResultPageOptions): string {
  const sections: SectionSpec[] = [
    {
      id: "moved",
      heading: "What moved?",
      body: html`<p><strong>${trendHeadline(trend)}</strong></p>
${summaryTable(trend)}
${pointTable(trend)}`,
    },
  ];
  for (const { id, heading, metrics } of QUESTIONS) {
    const series = trend.series.filter((s) => (metrics as readonly string[]).includes(s.metric));
    if (series.length === 0) continue;
    sections.push({
      id,
      heading,
      body: renderFigureRow(
        series.map((s) => ({ spec: figureOf(s, trend, trend.series.indexOf(s)), table: tableOf(s, trend.points) })),
      ),
    });
  }
  sections.push({
    id: "method",
    heading: "How was it told?",
    body: html`<p>Points stand ${trend.order}, evenly spaced; whiskers are intervals at about 95 %. A step counts as moved when the whole joint interval of the
difference lies on one side of zero. The slope is a least-squares line weighted by each point's own uncertainty; where the points scatter more than these explain, its
uncertainty grows with the scatter (Birge, 1932). Where the resolution changed, what is counted in LSB is drawn in volts. Limits are those of the last result.</p>`,
  });
  const first = trend.points[0];
  return renderShell({
    kind: "Trend",
    title: first?.title === trend.points.at(-1)?.title ? (first?.title ?? "Trend") : "Trend over several boards",
    subtitle: trend.points.map((p) => p.label).join(" → "),
    simulated: options.simulated,
    verdict: null,
    sections,
    data: [{ id: "codestair-trend", json: options.json }],
    version: options.version,
    written: options.written,
    foot: trend.points.map((p) => p.name).join(" · "),
  });
}

function summaryTable(trend: Trend): Html {
  const sloped = trend.series.some((s) => s.slope !== null);
  return renderTable({
    caption: `Last value, last step${sloped ? " and slope" : ""}; ± about 95 %; moved: by more than its uncertainty at the last step`,
    columns: [
      { head: "metric" },
      { head: "capture" },
      { head: "last", align: "number" },
      { head: "last step", align: "number" },
      ...(sloped ? [{ head: "slope a step", align: "number" as const }] : []),
      { head: "what it says" },
    ],
    rows: trend.series.map((s) => {
      const last = s.figures.findLast((f) => f?.value != null) ?? null;
      const step = s.lastStep === null ? null : { ...s.lastStep.difference, unit: s.unit };
      const slope =
        s.slope === null
          ? null
          : { value: s.slope.perStep, low: null, high: null, uncertainty: s.slope.uncertainty, unit: s.unit };
      const { row } = inOneUnit([last, step, slope], s.unit);
      const [v, d, b] = row;
      return [
        metricLabel(s.metric),
        s.capture,
        v ? shownText(v, { signed: isSigned(s.metric) }) : "–",
        d ? shownText(d, { signed: true }) : "–",
        ...(sloped ? [b ? shownText(b, { signed: true }) : "–"] : []),
        s.lastStep?.exceeds || s.slope?.exceeds
          ? html`<strong>${[...(s.lastStep?.exceeds ? ["moved"] : []), ...(s.slope?.exceeds ? ["slopes"] : [])].join(", ")}</strong>`
          : s.lastStep?.difference.low == null && s.lastStep?.difference.high == null
            ? "no interval"
            : "within ±",
      ];
    }),
  });
}

function pointTable({ points, order }: Trend): Html {
  const keys = [...new Set(points.flatMap((p) => Object.keys(p.conditions)))];
  return html`<details class="numbers"><summary>The ${points.length} results, ${order}</summary>${renderTable({
    caption: `The results, ${order}`,
    columns: [{ head: "result" }, { head: "file" }, { head: "written" }, ...keys.map((k) => ({ head: k }))],
    rows: points.map((p) => [
      p.label,
      p.name,
      p.written === null ? "–" : p.written.slice(0, 16).replace("T", " "),
      ...keys.map((k) => p.conditions[k] ?? "–"),
    ]),
  })}</details>`;
}

function figureOf(series: TrendSeries, trend: Trend, index: number): FigureSpec {
  const limits = series.limits.map((l) => ({
    value: l.limit,
    low: null,
    high: null,
    uncertainty: null,
    unit: series.unit,
  }));
  const { row, unit } = inOneUnit([...series.figures, ...limits], series.unit);
  const figures = row.slice(0, series.figures.length);
  const lines = row.slice(series.figures.length);
  const known = figures.flatMap((f, i) => (f?.value != null ? [{ f, i }] : []));
  const magnitudes = series.metric !== "inlMin" && series.metric !== "dnlMin";
  return {
    id: `trend-${index + 1}`,
    title: `${metricLabel(series.metric)}: ${series.capture}`,
    caption: series.sentence,
    x: { quantity: "result", unit: "", whole: true, range: [0.5, trend.points.length + 0.5] },
    y: { quantity: metricLabel(series.metric), unit },
    series: [
      {
        kind: "points",
        name: "value, interval about 95 %",
        style: "main",
        x: known.map((k) => k.i + 1),
        y: known.map((k) => k.f.value),
        low: known.map((k) => k.f.low),
        high: known.map((k) => k.f.high),
      },
    ],
    marks: known.map((k) => ({
      x: k.i + 1,
      y: k.f.value!,
      label: trend.points[k.i]!.label.slice(0, 14),
      text: `${trend.points[k.i]!.label}: ${shownText(k.f)}`,
    })),
    limits: lines.map((l, i) => ({
      y: !magnitudes && series.limits[i]!.bound === "max" ? -l!.value! : l!.value!,
      label: `limit ${plain(l!.value!)} ${unit}`,
    })),
  };
}

function tableOf(series: TrendSeries, points: readonly TrendPoint[]): TableSpec {
  const signed = isSigned(series.metric);
  return {
    caption: `${metricLabel(series.metric)} of ${series.capture}`,
    columns: [{ head: "result" }, { head: "value", align: "number" }],
    rows: series.figures.map((f, i) => [
      points[i]!.label,
      f === null
        ? "not part of it"
        : f.value === null && f.low === null && f.high === null
          ? `not measured: ${f.reason ?? "no reason given"}`
          : shownText(f, { signed }),
    ]),
  };
}
