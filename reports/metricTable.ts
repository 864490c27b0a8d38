import { METRIC_NAMES, METRICS, type MetricName } from "../lib/bench/metrics.ts";
import type { Figure } from "../lib/judge/figure.ts";
import { LINE_METRICS, TONE_METRICS as OF_A_TONE, SHAPE_METRICS, STEADY_METRICS } from "../lib/match/metricGroups.ts";
import type { CaptureScore } from "../lib/session.ts";
import { type Html, html } from "./html.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { shownText, unbroken } from "./number.ts";
import { renderTable } from "./table.ts";

const among =
  (...groups: (readonly MetricName[])[]) =>
  (m: MetricName): boolean =>
    groups.some((g) => g.includes(m));

/** The metrics of each question, in the order of the metric table. */
export const STATIC_METRICS: readonly MetricName[] = METRIC_NAMES.filter(among(LINE_METRICS, SHAPE_METRICS));
export const TONE_METRICS: readonly MetricName[] = METRIC_NAMES.filter(among(OF_A_TONE, ["crosstalk"]));
export const NOISE_METRICS: readonly MetricName[] = METRIC_NAMES.filter(among(STEADY_METRICS));

/** A figure in one run of text; what has neither value nor bound says why. */
export function figureText(name: MetricName, figure: Figure): string {
  const known = figure.value !== null || figure.low !== null || figure.high !== null;
  if (!known) return `not measured: ${figure.reason ?? "this capture cannot show it"}`;
  const text = shownText(figure, { signed: isSigned(name) });
  return figure.value === null && figure.reason ? `${text} (${figure.reason})` : text;
}

/** The metrics of one question, one row each, the captures that say something about them side by side; reasons stand once below. */
export function metricTable(
  captures: readonly CaptureScore[],
  metrics: readonly MetricName[],
  caption: string,
): Html | null {
  const telling = captures.filter((c) => metrics.some((m) => c.figures[m] !== undefined));
  const rows = metrics.filter((m) => telling.some((c) => c.figures[m] !== undefined));
  if (rows.length === 0) return null;
  const reasons: string[] = [];
  const cell = (name: MetricName, figure: Figure | undefined): Html => {
    if (figure === undefined) return html`<span class="spoken">not part of this capture</span>`;
    const known = figure.value !== null || figure.low !== null || figure.high !== null;
    const text = known ? shownText(figure, { signed: isSigned(name) }) : "not measured";
    if (figure.value !== null) return html`${text}`;
    const reason = unbroken(figure.reason ?? "this capture cannot show it");
    if (!reasons.includes(reason)) reasons.push(reason);
    return html`${text} <span class="note-number">[${reasons.indexOf(reason) + 1}]</span>`;
  };
  const table = renderTable({
    caption,
    columns: [
      { head: "metric" },
      ...telling.map((c) => ({ head: c.spec.name, align: "number" as const })),
      { head: "what it says" },
    ],
    rows: rows.map((m) => [
      metricLabel(m),
      ...telling.map((c) => cell(m, c.figures[m])),
      html`<small class="says">${METRICS[m].sentence}</small>`,
    ]),
  });
  return html`${table}${reasons.length > 0 && html`<ol class="reasons-why">${reasons.map((r, i) => html`<li>[${i + 1}] ${r}</li>`)}</ol>`}`;
}
