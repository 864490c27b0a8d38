import type { ResultFigure } from "../result.ts";
import type { Column } from "./columns.ts";
import type { Comparison } from "./comparison.ts";

/** Without the budget: a comparison's file is about differences. */
function figureJson(figure: ResultFigure | null): Omit<ResultFigure, "budget"> | null {
  if (figure === null) return null;
  const { value, low, high, uncertainty, unit, method, reason } = figure;
  return { value, low, high, uncertainty, unit, method, ...(reason === undefined ? {} : { reason }) };
}

/** Rate in readings a second; the converter's timing or the sample rate says so. */
function columnJson({ label, detail, captures, rate }: Column) {
  return {
    label,
    detail,
    rate: rate === null ? null : { value: rate.value, unit: "Hz", basis: rate.basis },
    captures: captures.map((c) => ({ name: c.name, file: c.file, sha256: c.sha256, lsb: c.converter.scale.lsb })),
  };
}

/** A comparison as plain JSON, "codestair-comparison/1": volts and LSB as in the table, differences second minus first. */
export function comparisonJson(comparison: Comparison, tool: { version: string; written: string | null }) {
  const { reference, others, shared, correlation, answer } = comparison;
  return {
    schema: "codestair-comparison/1",
    tool: { name: "codestair", version: tool.version },
    written: tool.written,
    answer,
    reference: columnJson(reference),
    shared,
    correlation,
    others: others.map(({ column, metrics, pairing, unlike }) => ({
      ...columnJson(column),
      metrics: metrics.map((m) => ({
        metric: m.metric,
        capture: m.capture,
        unit: m.unit,
        first: figureJson(m.first),
        second: figureJson(m.second),
        difference: m.difference,
        change: m.change,
        note: m.note,
        inLsb: m.inLsb === null ? null : { first: figureJson(m.inLsb.first), second: figureJson(m.inLsb.second) },
      })),
      onlyInReference: pairing.onlyFirst.map((c) => c.name),
      onlyHere: pairing.onlySecond.map((c) => c.name),
      unlike: unlike.map((u) => ({ capture: u.capture, text: u.unlike.text, metrics: u.unlike.metrics })),
    })),
  };
}
