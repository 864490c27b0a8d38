/** Smallest and largest value of each block or column; NaN where there is none. */
export class Envelope {
  low: Float64Array = new Float64Array(0);
  high: Float64Array = new Float64Array(0);
}

export function emptyEnvelope(count: i32): Envelope {
  const envelope = new Envelope();
  envelope.low = new Float64Array(count).fill(NaN);
  envelope.high = new Float64Array(count).fill(NaN);
  return envelope;
}

/** Of consecutive blocks of readings. */
export function blockEnvelope(codes: Int32Array, each: i32): Envelope {
  const n = codes.length;
  const found = emptyEnvelope((n + each - 1) / each);
  for (let b = 0; b < found.low.length; b++) {
    const end = min(n, (b + 1) * each);
    let low = i32.MAX_VALUE;
    let high = i32.MIN_VALUE;
    for (let i = b * each; i < end; i++) {
      const code = unchecked(codes[i]);
      low = min(low, code);
      high = max(high, code);
    }
    found.low[b] = low;
    found.high[b] = high;
  }
  return found;
}

/** Of columns of a curve with the given ascending edges; values that are not finite are left out. */
export function columnEnvelope(values: Float64Array, edges: Int32Array): Envelope {
  const found = emptyEnvelope(edges.length - 1);
  for (let c = 0; c < found.low.length; c++) {
    for (let i = edges[c]; i < edges[c + 1]; i++) {
      const v = values[i];
      if (!(abs<f64>(v) < Infinity)) continue;
      if (!(found.low[c] <= v)) found.low[c] = v;
      if (!(found.high[c] >= v)) found.high[c] = v;
    }
  }
  return found;
}
