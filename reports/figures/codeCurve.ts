import { kernels } from "../../lib/kernels/kernels.generated.js";
import { columnEnvelope, evenEdges } from "../envelope.ts";
import type { SeriesSpec, SeriesStyle } from "../figureSpec.ts";
import { COLUMNS, MOST_POINTS } from "./captureFigure.ts";

/** A curve over codes as a series: every code where the page can carry it, else the smallest and largest value of each column. */
export function codeCurve(
  name: string,
  style: SeriesStyle,
  first: number,
  values: Float64Array,
  most = MOST_POINTS,
): SeriesSpec {
  if (values.length <= most)
    return { kind: "line", name, style, x: { from: first, step: 1, count: values.length }, y: values };
  const edges = evenEdges(values.length, COLUMNS);
  const each = edges[1]! - edges[0]!;
  return {
    kind: "band",
    name: `${name}, smallest to largest of ${each} codes`,
    style,
    x: { from: first + (each - 1) / 2, step: each, count: edges.length - 1 },
    ...columnEnvelope(values, edges),
  };
}

/** The interval about a curve at about 95 %, from standard uncertainties: in columns, since it changes slowly. */
export function codeInterval(first: number, values: Float64Array, standard: Float64Array): SeriesSpec {
  const edges = evenEdges(values.length, 350);
  const each = edges[1]! - edges[0]!;
  return {
    kind: "band",
    name: "interval of this record, about 95 %",
    style: "reference",
    x: { from: first + (each - 1) / 2, step: each, count: edges.length - 1 },
    ...kernels.intervalColumns(values, standard, Int32Array.from(edges)),
  };
}

/** The places of the largest and smallest value, and how many were tested; null where none was. */
export interface Extremes {
  readonly max: number;
  readonly min: number;
  readonly known: number;
}

export function extremes(values: Float64Array): Extremes | null {
  const found = kernels.curveExtremes(values);
  return found.known === 0 ? null : found;
}
