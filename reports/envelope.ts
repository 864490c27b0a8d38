import { alongSine } from "../lib/signal/alongSine.ts";
import type { SineFit } from "../lib/signal/sineFit.ts";

/** Smallest and largest value of consecutive blocks of readings: what a plot of a long record needs. */
export interface Envelope {
  /** Readings in one block; the last may hold fewer. */
  readonly each: number;
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/**
 * Reduces a record to at most `columns` blocks in one pass over its codes; no peak is lost.
 * @example envelope(Int32Array.of(1, 5, 2, 8), 2) // each 2, low [1, 2], high [5, 8]
 */
export function envelope(codes: ArrayLike<number>, columns: number): Envelope {
  const n = codes.length;
  const each = Math.max(1, Math.ceil(n / columns));
  const count = Math.ceil(n / each);
  const low = new Float64Array(count);
  const high = new Float64Array(count);
  for (let b = 0; b < count; b++) {
    const end = Math.min(n, (b + 1) * each);
    let lo = codes[b * each] as number;
    let hi = lo;
    for (let i = b * each + 1; i < end; i++) {
      const y = codes[i] as number;
      if (y < lo) lo = y;
      else if (y > hi) hi = y;
    }
    low[b] = lo;
    high[b] = hi;
  }
  return { each, low, high };
}

/** Which readings of a record stand for the sine: a sound stretch of it, and no code at or beyond the rails. */
export interface SinePart {
  readonly first: number;
  readonly last: number;
  readonly bottom: number;
  readonly top: number;
}

/** The same of what is left after a fitted sine is taken away; NaN where a block holds no reading of the part. */
export function residualEnvelope(codes: ArrayLike<number>, fit: SineFit, part: SinePart, columns: number): Envelope {
  const n = part.last - part.first + 1;
  const each = Math.max(1, Math.ceil(n / columns));
  const count = Math.max(0, Math.ceil(n / each));
  const low = new Float64Array(count).fill(Number.NaN);
  const high = new Float64Array(count).fill(Number.NaN);
  const sine = alongSine(fit);
  for (let b = 0; b < count; b++) {
    const start = part.first + b * each;
    const end = Math.min(part.last + 1, start + each);
    let lo = Number.POSITIVE_INFINITY;
    let hi = Number.NEGATIVE_INFINITY;
    for (let i = start; i < end; i++) {
      const code = codes[i] as number;
      if (code <= part.bottom || code >= part.top) continue;
      const r = code - sine(i);
      if (r < lo) lo = r;
      if (r > hi) hi = r;
    }
    if (hi >= lo) {
      low[b] = lo;
      high[b] = hi;
    }
  }
  return { each, low, high };
}

/** Readings laid over one period of their sine: smallest and largest code of each slice of the period; NaN where no reading fell. */
export function foldedEnvelope(
  codes: ArrayLike<number>,
  fit: SineFit,
  columns: number,
): { low: Float64Array; high: Float64Array } {
  const low = new Float64Array(columns).fill(Number.NaN);
  const high = new Float64Array(columns).fill(Number.NaN);
  const start = fit.phase / (2 * Math.PI);
  for (let i = 0; i < codes.length; i++) {
    const turn = start + i * fit.cyclesPerReading;
    const at = Math.min(columns - 1, Math.floor((turn - Math.floor(turn)) * columns));
    const y = codes[i] as number;
    if (!(low[at]! <= y)) low[at] = y;
    if (!(high[at]! >= y)) high[at] = y;
  }
  return { low, high };
}

/** What is left after the fitted sine, laid over one period: smallest, largest and mean of each slice; NaN where no reading of the part fell. */
export function foldedResidual(
  codes: ArrayLike<number>,
  fit: SineFit,
  part: SinePart,
  columns: number,
): { low: Float64Array; high: Float64Array; mean: Float64Array } {
  const low = new Float64Array(columns).fill(Number.NaN);
  const high = new Float64Array(columns).fill(Number.NaN);
  const sum = new Float64Array(columns);
  const count = new Float64Array(columns);
  const sine = alongSine(fit);
  const start = fit.phase / (2 * Math.PI);
  for (let i = part.first; i <= part.last; i++) {
    const code = codes[i] as number;
    if (code <= part.bottom || code >= part.top) continue;
    const turn = start + i * fit.cyclesPerReading;
    const phase = turn - Math.floor(turn);
    const at = Math.min(columns - 1, Math.floor(phase * columns));
    const r = code - sine(i);
    if (!(low[at]! <= r)) low[at] = r;
    if (!(high[at]! >= r)) high[at] = r;
    sum[at]! += r;
    count[at]! += 1;
  }
  return { low, high, mean: sum.map((s, i) => (count[i]! > 0 ? s / count[i]! : Number.NaN)) };
}

/**
 * A curve over codes or frequency reduced to columns of given edges; an untested stretch stays a gap.
 * @param edges  ascending indices; column i spans edges[i] … edges[i+1] − 1
 */
export function columnEnvelope(
  values: ArrayLike<number>,
  edges: readonly number[],
): { low: Float64Array; high: Float64Array } {
  const count = edges.length - 1;
  const low = new Float64Array(count).fill(Number.NaN);
  const high = new Float64Array(count).fill(Number.NaN);
  for (let c = 0; c < count; c++) {
    for (let i = edges[c]!; i < edges[c + 1]!; i++) {
      const v = values[i] as number;
      if (!Number.isFinite(v)) continue;
      if (!(low[c]! <= v)) low[c] = v;
      if (!(high[c]! >= v)) high[c] = v;
    }
  }
  return { low, high };
}

/** Edges of at most `columns` equal columns over 0 … n − 1. */
export function evenEdges(n: number, columns: number): number[] {
  const each = Math.max(1, Math.ceil(n / columns));
  const edges: number[] = [];
  for (let i = 0; i < n; i += each) edges.push(i);
  edges.push(n);
  return edges;
}

/** Edges fine enough for a linear and for a logarithmic axis: even columns, and ever narrower ones towards index 1. */
export function spectrumEdges(n: number, columns: number): number[] {
  const found = new Set([1, n]);
  const each = Math.max(1, Math.ceil(n / columns));
  for (let i = 1; i < n; i += each) found.add(i);
  for (let k = 0; k < columns; k++) found.add(Math.max(1, Math.round(n ** (k / columns))));
  return [...found].sort((a, b) => a - b);
}
