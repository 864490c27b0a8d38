import { Envelope, emptyEnvelope } from "./envelopes";

/** Places of the largest and smallest value of a curve, and how many values are known; −1 where none is. */
export class CurveExtremes {
  max: i32 = -1;
  min: i32 = -1;
  known: i32 = 0;
}

export function curveExtremes(values: Float64Array): CurveExtremes {
  const found = new CurveExtremes();
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    const v = unchecked(values[i]);
    if (!(abs<f64>(v) < Infinity)) continue;
    found.known++;
    if (v > high) {
      high = v;
      found.max = i;
    }
    if (v < low) {
      low = v;
      found.min = i;
    }
  }
  return found;
}

/** Stretches of a curve that are not known: first and last place of one after the other. */
export function curveGaps(values: Float64Array): Int32Array {
  const ends = new Int32Array(values.length + 2);
  let count = 0;
  let open = false;
  for (let i = 0; i < values.length; i++) {
    const gap = !(abs<f64>(values[i]) < Infinity);
    if (gap !== open) ends[count++] = gap ? i : i - 1;
    open = gap;
  }
  if (open) ends[count++] = values.length - 1;
  return ends.slice(0, count);
}

/** Columns of a curve's interval at about 95 %, from standard uncertainties: the smallest lower end and the largest upper one. */
export function intervalColumns(values: Float64Array, standard: Float64Array, edges: Int32Array): Envelope {
  const found = emptyEnvelope(edges.length - 1);
  for (let c = 0; c < found.low.length; c++) {
    const end = edges[c + 1];
    let low: f64 = NaN;
    let high: f64 = NaN;
    for (let i = edges[c]; i < end; i++) {
      const v = values[i];
      const half = 1.96 * standard[i];
      if (!(abs<f64>(v) + half < Infinity)) continue;
      if (!(low <= v - half)) low = v - half;
      if (!(high >= v + half)) high = v + half;
    }
    found.low[c] = low;
    found.high[c] = high;
  }
  return found;
}
