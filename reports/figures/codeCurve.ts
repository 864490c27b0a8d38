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
  const low = columnEnvelope(
    values.map((v, i) => v - 1.96 * standard[i]!),
    edges,
  ).low;
  const high = columnEnvelope(
    values.map((v, i) => v + 1.96 * standard[i]!),
    edges,
  ).high;
  return {
    kind: "band",
    name: "interval of this record, about 95 %",
    style: "reference",
    x: { from: first + (each - 1) / 2, step: each, count: edges.length - 1 },
    low,
    high,
  };
}

/** The places of the largest and smallest value; null where nothing was tested. */
export function extremes(values: ArrayLike<number>): { max: number; min: number } | null {
  let max = -1;
  let min = -1;
  for (let i = 0; i < values.length; i++) {
    const v = values[i] as number;
    if (!Number.isFinite(v)) continue;
    if (max < 0 || v > (values[max] as number)) max = i;
    if (min < 0 || v < (values[min] as number)) min = i;
  }
  return max < 0 ? null : { max, min };
}
