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

/** Places of the largest finite value of consecutive groups; groups that hold none are left out. */
export function largestPlaces(values: Float64Array, each: i32): Int32Array {
  const places = new Int32Array((values.length + each - 1) / each);
  let count = 0;
  for (let from = 0; from < values.length; from += each) {
    const end = min(values.length, from + each);
    let best = -1;
    let largest = -Infinity;
    for (let i = from; i < end; i++) {
      const v = unchecked(values[i]);
      if (!(v > largest && v < Infinity)) continue;
      largest = v;
      best = i;
    }
    if (best >= 0) places[count++] = best;
  }
  return places.slice(0, count);
}

/** Of columns of a curve with the given ascending edges; values that are not finite are left out. */
export function columnEnvelope(values: Float64Array, edges: Int32Array): Envelope {
  const found = emptyEnvelope(edges.length - 1);
  for (let c = 0; c < found.low.length; c++) {
    const end = edges[c + 1];
    let low: f64 = NaN;
    let high: f64 = NaN;
    for (let i = edges[c]; i < end; i++) {
      const v = values[i];
      if (!(abs<f64>(v) < Infinity)) continue;
      if (!(low <= v)) low = v;
      if (!(high >= v)) high = v;
    }
    found.low[c] = low;
    found.high[c] = high;
  }
  return found;
}
