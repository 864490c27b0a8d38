import type { SessionScore } from "../../lib/session.ts";
import { renderFigureRow } from "../figure.ts";
import { steadyCourseFigure, steadyHistogramFigure } from "../figures/steadyFigures.ts";
import { findingList } from "../findingList.ts";
import { type Html, html } from "../html.ts";
import { metricTable, NOISE_METRICS } from "../metricTable.ts";

/** How quiet? Noise, resolution and drift at a steady input. */
export function quietSection(session: SessionScore): Html | null {
  const { captures } = session;
  const table = metricTable(captures, NOISE_METRICS, "Noise, resolution and drift, ± about 95 %");
  // A finding is shown even where nothing of its question was measured.
  if (table === null) return findingList(captures, "quiet");
  const figures = captures
    .flatMap((c, i) => [steadyHistogramFigure(c, i), steadyCourseFigure(c, i)])
    .filter((f) => f !== null);
  return html`<p>At a steady input every change of code is noise, drift or interference. The rms noise is one standard deviation, referred to the input, with the rounding to whole codes taken out.</p>
${findingList(captures, "quiet")}
${table}
${figures.length > 0 && renderFigureRow(figures)}`;
}
