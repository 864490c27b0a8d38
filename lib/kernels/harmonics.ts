import { Sine } from "./alongSine";

/** Harmonics in ascending order: a·cos hθ + b·sin hθ each, h the order. */
export class Harmonics {
  order: Int32Array = new Int32Array(0);
  a: Float64Array = new Float64Array(0);
  b: Float64Array = new Float64Array(0);
}

/** Their sum at a phase of the tone, in cycles; e^{ihθ} by turning on, one order after the other. */
export function harmonicValue(harmonics: Harmonics, cycles: f64): f64 {
  const orders = harmonics.order;
  const a = harmonics.a;
  const b = harmonics.b;
  const lines = orders.length;
  if (lines === 0) return 0;
  if (a.length < lines || b.length < lines) unreachable();
  const c = Math.cos(2 * Math.PI * cycles);
  const s = Math.sin(2 * Math.PI * cycles);
  let ch = c;
  let sh = s;
  let order = 1;
  let sum: f64 = 0;
  for (let i = 0; i < lines; i++) {
    const to = unchecked(orders[i]);
    for (; order < to; order++) {
      const next = ch * c - sh * s;
      sh = sh * c + ch * s;
      ch = next;
    }
    sum += unchecked(a[i]) * ch + unchecked(b[i]) * sh;
  }
  return sum;
}

/** Their sum at phases 0, 1/steps … 1 of the tone. */
export function harmonicTable(harmonics: Harmonics, steps: i32): Float64Array {
  const table = new Float64Array(steps + 1);
  for (let i = 0; i <= steps; i++) table[i] = harmonicValue(harmonics, <f64>i / steps);
  return table;
}

/** Σ r·cos hθ and Σ r·sin hθ by order. */
export class HarmonicSums {
  cos: Float64Array = new Float64Array(0);
  sin: Float64Array = new Float64Array(0);
}

function noSums(highest: i32): HarmonicSums {
  const sums = new HarmonicSums();
  sums.cos = new Float64Array(highest + 1);
  sums.sin = new Float64Array(highest + 1);
  return sums;
}

/** Adds one residual's products with the harmonics from order 2 on. */
function addHarmonics(sums: HarmonicSums, r: f64, c: f64, s: f64): void {
  const cos = sums.cos;
  const sin = sums.sin;
  if (sin.length < cos.length) unreachable();
  let ch = c;
  let sh = s;
  for (let h = 2; h < cos.length; h++) {
    const next = ch * c - sh * s;
    sh = sh * c + ch * s;
    ch = next;
    unchecked((cos[h] += r * ch));
    unchecked((sin[h] += r * sh));
  }
}

const RESYNC = 1024;

/** The sums straight from the readings, θ counted from their middle. */
export function harmonicSums(values: Float64Array, tone: Sine, highest: i32): HarmonicSums {
  const readings = values.length;
  const f = tone.cyclesPerReading;
  const centre = <f64>(readings - 1) / 2;
  const sums = noSums(highest);
  const stepC = Math.cos(2 * Math.PI * f);
  const stepS = Math.sin(2 * Math.PI * f);
  const atCentre = 2 * Math.PI * f * centre + tone.phase;
  const offset = tone.offset;
  const a = tone.amplitude * Math.cos(atCentre);
  const b = -tone.amplitude * Math.sin(atCentre);
  for (let start = 0; start < readings; start += RESYNC) {
    const end = min(readings, start + RESYNC);
    const turns = f * (<f64>start - centre);
    const angle = 2 * Math.PI * (turns - floor<f64>(turns));
    let c = Math.cos(angle);
    let s = Math.sin(angle);
    for (let n = start; n < end; n++) {
      addHarmonics(sums, unchecked(values[n]) - offset - a * c - b * s, c, s);
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
    }
  }
  return sums;
}

/**
 * The sums from the residual's phase bins.
 * @param moments  as foldReadings fills them
 * @param shift    phase of bin 0's middle, cycles
 */
export function foldedHarmonicSums(moments: Float64Array, shift: f64, highest: i32): HarmonicSums {
  const bins = moments.length / 5;
  const sums = noSums(highest);
  for (let i = 0; i < bins; i++) {
    const r = moments[5 * i + 1];
    if (r === 0) continue;
    const angle = 2 * Math.PI * (<f64>i / bins + shift);
    addHarmonics(sums, r, Math.cos(angle), Math.sin(angle));
  }
  return sums;
}

/** Σ cos 2πx(m − centre) over the record, in closed form (the Dirichlet kernel). */
function dirichlet(x: f64, readings: i32): f64 {
  const whole = Math.round(x);
  const rest = x - whole;
  const sign: f64 = (<i32>whole & 1) !== 0 && (readings & 1) === 0 ? -1 : 1;
  if (abs<f64>(rest) * readings < 1e-7) return sign * readings;
  return (sign * Math.sin(Math.PI * rest * readings)) / Math.sin(Math.PI * rest);
}

/**
 * Products of the columns of a fit, Σ column·column over the record: 1, cos hθ, sin hθ, and u·sin(θ + φ), by which the phase at the ends moves the tone.
 * θ and u count from the record's centre, about which cosines are even, sines and u odd: an odd product sums to nothing.
 * @param order  h by column, 0 for the column of ones
 * @param kind   by column: 0 cosine, 1 sine, 2 the phase at the ends (one column at most)
 * @returns n×n, row by row
 */
export function harmonicProducts(tone: Sine, readings: i32, order: Int32Array, kind: Int32Array): Float64Array {
  const n = order.length;
  const H = new Float64Array(n * n);
  const f = tone.cyclesPerReading;
  let slope = -1;
  for (let i = 0; i < n; i++) {
    if (kind[i] === 2) slope = i;
    else
      for (let j = 0; j <= i; j++) {
        if (kind[j] !== kind[i]) continue;
        const difference = dirichlet((order[i] - order[j]) * f, readings);
        const sum = dirichlet((order[i] + order[j]) * f, readings);
        H[i * n + j] = H[j * n + i] = kind[i] === 1 ? (difference - sum) / 2 : (difference + sum) / 2;
      }
  }
  if (slope >= 0) {
    const products = slopeProducts(tone, readings, order, kind);
    for (let i = 0; i < n; i++) H[i * n + slope] = H[slope * n + i] = products[i];
  }
  return H;
}

/** Of u·sin(θ + φ) with each column: no closed form, so the readings behind the centre are summed, and count twice. */
function slopeProducts(tone: Sine, readings: i32, order: Int32Array, kind: Int32Array): Float64Array {
  const n = order.length;
  const products = new Float64Array(n);
  const f = tone.cyclesPerReading;
  const centre = <f64>(readings - 1) / 2;
  const phase = tone.phase + 2 * Math.PI * f * centre;
  const phaseC = Math.cos(phase);
  const phaseS = Math.sin(phase);
  let highest = 1;
  for (let i = 0; i < n; i++) highest = max(highest, order[i]);
  const cos = new Float64Array(highest + 1);
  const sin = new Float64Array(highest + 1);
  cos[0] = 1;
  for (let m = (readings + 1) >> 1; m < readings; m++) {
    const u = (<f64>m - centre) / centre;
    const turns = f * (<f64>m - centre);
    const angle = 2 * Math.PI * (turns - Math.round(turns));
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    // One order after the other by turning on.
    for (let h = 1; h <= highest; h++) {
      cos[h] = cos[h - 1] * c - sin[h - 1] * s;
      sin[h] = sin[h - 1] * c + cos[h - 1] * s;
    }
    const even = 2 * u * s * phaseC;
    const odd = 2 * u * c * phaseS;
    for (let i = 0; i < n; i++)
      products[i] +=
        kind[i] === 2
          ? u * (even * s * phaseC + odd * c * phaseS)
          : kind[i] === 1
            ? odd * sin[order[i]]
            : even * cos[order[i]];
  }
  return products;
}

/** What harmonics leave of readings, phases counted from the readings' middle. */
export function besideHarmonics(codes: Int32Array, cyclesPerReading: f64, harmonics: Harmonics): Float64Array {
  const without = new Float64Array(codes.length);
  const centre = <f64>(codes.length - 1) / 2;
  for (let n = 0; n < codes.length; n++) {
    const turns = cyclesPerReading * (<f64>n - centre);
    const angle = 2 * Math.PI * (turns - floor<f64>(turns));
    let y: f64 = codes[n];
    for (let i = 0; i < harmonics.order.length; i++) {
      const order = harmonics.order[i];
      y -= harmonics.a[i] * Math.cos(order * angle) + harmonics.b[i] * Math.sin(order * angle);
    }
    without[n] = y;
  }
  return without;
}
