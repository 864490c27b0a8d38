import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import { renderFigureRow } from "../figure.ts";
import { codeHistogramFigure } from "../figures/codeHistogramFigure.ts";
import { dnlFigure } from "../figures/dnlFigure.ts";
import { hysteresisFigure } from "../figures/hysteresisFigure.ts";
import { inlFigure } from "../figures/inlFigure.ts";
import { readingErrorFigure } from "../figures/readingErrorFigure.ts";
import { stepFigures } from "../figures/stepFigures.ts";
import { findingList } from "../findingList.ts";
import { type Html, html } from "../html.ts";
import { metricTable, STATIC_METRICS } from "../metricTable.ts";
import { quantity } from "../number.ts";

/** How far off and how straight? Offset, gain, INL, DNL, over codes and over the input. */
export function straightSection(session: SessionScore): Html | null {
  const { captures } = session;
  const table = metricTable(captures, STATIC_METRICS, "Offset, gain and straightness, ± about 95 %");
  // A finding is shown even where nothing of its question was measured.
  if (table === null) return findingList(captures, "straight");
  const limits = session.verdict.limits;
  const row = (figure: (c: CaptureScore, i: number) => FigureEntry | null): Html | null => {
    const found = captures.map(figure).filter((f): f is FigureEntry => f !== null);
    return found.length === 0 ? null : renderFigureRow(found);
  };
  const steps = captures.flatMap((c, i) => stepFigures(c, limits, i));
  return html`<p>${explain(session)}</p>
${findingList(captures, "straight")}
${table}
${row((c, i) => inlFigure(c, limits, i))}
${row((c, i) => dnlFigure(c, limits, i))}
${row((c, i) => readingErrorFigure(c, limits, i))}
${steps.length > 0 && renderFigureRow(steps)}
${row(hysteresisFigure)}
${row(codeHistogramFigure)}`;
}

function explain(session: SessionScore): string {
  const lsb = session.captures[0]?.record.scale.lsb;
  const width = lsb === undefined ? "" : ` (here ${quantity(lsb, "V", 4)})`;
  return `Everything is counted in LSB, the width of one code${width}. Offset and gain errors are positive where the converter reads high. A transition is the input at which the code changes; DNL says how much wider than 1 LSB a code is, INL how far a transition lies from a straight line. Mind the sign: where INL is positive, the converter reads low.`;
}
