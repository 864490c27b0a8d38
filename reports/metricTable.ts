import { METRICS, type MetricName } from "../lib/bench/metrics.ts";
import type { Figure } from "../lib/judge/figure.ts";
import type { CaptureScore } from "../lib/session.ts";
import { type Html, html } from "./html.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { shownText } from "./number.ts";
import { renderTable } from "./table.ts";

export const STATIC_METRICS = [
  "offsetError",
  "offsetAtLow",
  "gainError",
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "missingCodes",
  "totalUnadjustedError",
  "hysteresis",
] as const satisfies readonly MetricName[];
export const TONE_METRICS = [
  "enob",
  "enobAtLevel",
  "sinad",
  "snr",
  "thd",
  "sfdr",
  "signalLevel",
  "noiseFloor",
  "crosstalk",
] as const satisfies readonly MetricName[];
export const NOISE_METRICS = [
  "noiseRms",
  "codeRms",
  "noisePeakToPeak",
  "effectiveResolution",
  "noiseFreeBits",
  "meanCode",
  "drift",
] as const satisfies readonly MetricName[];

/** A figure in one run of text; what has neither value nor bound says why. */
export function figureText(name: MetricName, figure: Figure): string {
  const known = figure.value !== null || figure.low !== null || figure.high !== null;
  if (!known) return `not measured: ${figure.reason ?? "this capture cannot show it"}`;
  const text = shownText(figure, { signed: isSigned(name) });
  return figure.value === null && figure.reason ? `${text} (${figure.reason})` : text;
}

function cell(name: MetricName, figure: Figure | undefined): Html {
  if (figure === undefined) return html`<span class="spoken">not part of this capture</span>`;
  if (figure.value !== null) return html`${figureText(name, figure)}`;
  const bound = figure.low !== null || figure.high !== null;
  return html`<span class="why">${bound ? html`${shownText(figure, { signed: isSigned(name) })}<br>` : "not measured: "}${figure.reason ?? ""}</span>`;
}

/** The metrics of one question, one row each, the captures that say something about them side by side. */
export function metricTable(
  captures: readonly CaptureScore[],
  metrics: readonly MetricName[],
  caption: string,
): Html | null {
  const telling = captures.filter((c) => metrics.some((m) => c.figures[m] !== undefined));
  const rows = metrics.filter((m) => telling.some((c) => c.figures[m] !== undefined));
  if (rows.length === 0) return null;
  return renderTable({
    caption,
    columns: [
      { head: "metric" },
      ...telling.map((c) => ({ head: c.spec.name, align: "number" as const })),
      { head: "what it says" },
    ],
    rows: rows.map((m) => [
      metricLabel(m),
      ...telling.map((c) => cell(m, c.figures[m])),
      html`<small>${METRICS[m].sentence}</small>`,
    ]),
  });
}
