import type { Trend } from "./trend.ts";

/** A trend as plain JSON, "codestair-trend/1": for each metric one figure a point, null where that result has none. */
export function trendJson(trend: Trend, tool: { version: string; written: string | null }) {
  return {
    schema: "codestair-trend/1",
    tool: { name: "codestair", version: tool.version },
    written: tool.written,
    order: trend.order,
    points: trend.points,
    series: trend.series.map(({ metric, capture, unit, figures, limits, lastStep, slope, sentence }) => ({
      metric,
      capture,
      unit,
      figures: figures.map((f) =>
        f === null
          ? null
          : {
              value: f.value,
              low: f.low,
              high: f.high,
              uncertainty: f.uncertainty,
              ...(f.reason === undefined ? {} : { reason: f.reason }),
            },
      ),
      limits,
      lastStep:
        lastStep === null
          ? null
          : { ...lastStep.difference, from: lastStep.from, to: lastStep.to, exceeds: lastStep.exceeds },
      slope,
      sentence,
    })),
  };
}
