import { besideSine, Sine, sineValues } from "./alongSine";

/** Smallest and largest value of each block or slice; NaN where there is none. */
export class Envelope {
  low: Float64Array = new Float64Array(0);
  high: Float64Array = new Float64Array(0);
}

function empty(count: i32): Envelope {
  const envelope = new Envelope();
  envelope.low = new Float64Array(count).fill(NaN);
  envelope.high = new Float64Array(count).fill(NaN);
  return envelope;
}

/** Of consecutive blocks of readings. */
export function blockEnvelope(codes: Int32Array, each: i32): Envelope {
  const n = codes.length;
  const found = empty((n + each - 1) / each);
  for (let b = 0; b < found.low.length; b++) {
    const end = min(n, (b + 1) * each);
    let low = codes[b * each];
    let high = low;
    for (let i = b * each + 1; i < end; i++) {
      low = min(low, codes[i]);
      high = max(high, codes[i]);
    }
    found.low[b] = low;
    found.high[b] = high;
  }
  return found;
}

/**
 * The same of what a sine leaves of readings `first` on.
 * @param lead  readings before the first at which the sine's pointer is set: a record in pieces is as one in a single piece
 * @param bottom  readings at or below it are left out, as are those at or above `top`
 */
export function blockEnvelopeBesideSine(
  codes: Int32Array,
  each: i32,
  sine: Sine,
  first: f64,
  lead: i32,
  bottom: f64,
  top: f64,
): Envelope {
  const n = codes.length;
  const found = empty((n + each - 1) / each);
  const values = sineValues(sine, first - lead, lead + n);
  for (let b = 0; b < found.low.length; b++) {
    const end = min(n, (b + 1) * each);
    let low = Infinity;
    let high = -Infinity;
    for (let i = b * each; i < end; i++) {
      const code = <f64>codes[i];
      if (code <= bottom || code >= top) continue;
      const left = code - values[lead + i];
      low = min(low, left);
      high = max(high, left);
    }
    if (high < low) continue;
    found.low[b] = low;
    found.high[b] = high;
  }
  return found;
}

/** Readings laid over one period of their sine. */
export class Folded {
  low: Float64Array = new Float64Array(0);
  high: Float64Array = new Float64Array(0);
  sum: Float64Array = new Float64Array(0);
  count: Float64Array = new Float64Array(0);
}

/** Lays readings `first` on over those that `before` holds, slice by slice of the period. */
export function overPeriod(before: Folded, codes: Int32Array, sine: Sine, first: f64): Folded {
  const low = before.low;
  const high = before.high;
  const slices = low.length;
  const start = sine.phase / (2 * Math.PI);
  const f = sine.cyclesPerReading;
  for (let i = 0; i < codes.length; i++) {
    const turn = start + (first + i) * f;
    const at = min(slices - 1, <i32>((turn - floor<f64>(turn)) * slices));
    const code = <f64>codes[i];
    if (!(low[at] <= code)) low[at] = code;
    if (!(high[at] >= code)) high[at] = code;
  }
  return before;
}

/** The same with what the sine leaves of them. */
export function overPeriodBesideSine(
  before: Folded,
  codes: Int32Array,
  sine: Sine,
  first: f64,
  bottom: f64,
  top: f64,
): Folded {
  const low = before.low;
  const high = before.high;
  const sum = before.sum;
  const count = before.count;
  const slices = low.length;
  const start = sine.phase / (2 * Math.PI);
  const f = sine.cyclesPerReading;
  const left = besideSine(codes, sine, first);
  for (let i = 0; i < codes.length; i++) {
    const code = <f64>codes[i];
    if (code <= bottom || code >= top) continue;
    const turn = start + (first + i) * f;
    const at = min(slices - 1, <i32>((turn - floor<f64>(turn)) * slices));
    const r = left[i];
    if (!(low[at] <= r)) low[at] = r;
    if (!(high[at] >= r)) high[at] = r;
    sum[at] += r;
    count[at] += 1;
  }
  return before;
}

/** Of columns of a curve with the given ascending edges; values that are not finite are left out. */
export function columnEnvelope(values: Float64Array, edges: Int32Array): Envelope {
  const found = empty(edges.length - 1);
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
