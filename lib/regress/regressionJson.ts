import type { ResultFigure } from "../result.ts";
import type { Regression } from "./regression.ts";

function brief(figure: ResultFigure | null) {
  if (figure === null) return null;
  const { value, low, high, uncertainty, unit, reason } = figure;
  return { value, low, high, uncertainty, unit, ...(reason === undefined ? {} : { reason }) };
}

/** A regression as plain JSON, "codestair-regression/1": `worsening` is positive where it got worse. */
export function regressionJson(
  regression: Regression,
  about: { version: string; written: string | null; baseline: string; now: string },
) {
  const { cases, decision, judged, chanceAlone, correlation, remarks } = regression;
  return {
    schema: "codestair-regression/1",
    tool: { name: "codestair", version: about.version },
    written: about.written,
    baseline: about.baseline,
    now: about.now,
    decision,
    judged,
    chanceAlone,
    correlation,
    remarks,
    metrics: cases.map((c) => ({
      metric: c.metric,
      capture: c.capture,
      unit: c.unit,
      baseline: brief(c.baseline),
      now: brief(c.now),
      worsening: c.worsening,
      allowed: c.allowed,
      decision: c.decision,
      reason: c.reason,
    })),
  };
}
