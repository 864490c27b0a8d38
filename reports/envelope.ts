import { kernels } from "../lib/kernels/kernels.generated.js";
import type { SineFit } from "../lib/signal/sineFit.ts";

/** Smallest and largest value of consecutive blocks of readings: what a plot of a long record needs. */
export interface Envelope {
  /** Readings in one block; the last may hold fewer. */
  readonly each: number;
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/**
 * Readings that a kernel is handed at a time. A record may be longer than its memory, and V8 takes up a kernel's optimised code only at its next call: more at a time
 * were twice as slow.
 */
const PIECE = 1 << 14;
/** The kernels set a sine's pointer anew after so many readings; pieces are multiples of it, but for whole blocks of readings. */
const RESET = 1024;

/**
 * Reduces a record to at most `columns` blocks in one pass over its codes; no peak is lost.
 * @example envelope(Int32Array.of(1, 5, 2, 8), 2) // each 2, low [1, 2], high [5, 8]
 */
export function envelope(codes: Int32Array, columns: number): Envelope {
  return inPieces(codes, columns, (piece, each) => kernels.blockEnvelope(piece, each));
}

/** The smallest and the largest code of a record. */
export function extent(codes: Int32Array): readonly [low: number, high: number] {
  const { low, high } = envelope(codes, 1000);
  return [Math.min(...low), Math.max(...high)];
}

/** Which readings of a record stand for the sine: a sound stretch of it, and no code at or beyond the rails. */
export interface SinePart {
  readonly first: number;
  readonly last: number;
  readonly bottom: number;
  readonly top: number;
}

/** The same of what is left after a fitted sine is taken away; NaN where a block holds no reading of the part. */
export function residualEnvelope(codes: Int32Array, fit: SineFit, part: SinePart, columns: number): Envelope {
  const { first, last, bottom, top } = part;
  return inPieces(codes.subarray(first, last + 1), columns, (piece, each, from) =>
    kernels.blockEnvelopeBesideSine(piece, each, fit, first + from, from % RESET, bottom, top),
  );
}

function inPieces(
  codes: Int32Array,
  columns: number,
  reduce: (piece: Int32Array, each: number, from: number) => { low: Float64Array; high: Float64Array },
): Envelope {
  const each = Math.max(1, Math.ceil(codes.length / columns));
  const count = Math.ceil(codes.length / each);
  const low = new Float64Array(count);
  const high = new Float64Array(count);
  const blocks = Math.max(1, Math.floor(PIECE / each));
  for (let b = 0; b < count; b += blocks) {
    const piece = reduce(codes.subarray(b * each, (b + blocks) * each), each, b * each);
    low.set(piece.low, b);
    high.set(piece.high, b);
  }
  return { each, low, high };
}

/** Readings laid over one period of their sine: smallest and largest code of each slice of the period; NaN where no reading fell. */
export function foldedEnvelope(
  codes: Int32Array,
  fit: SineFit,
  columns: number,
): { low: Float64Array; high: Float64Array } {
  return folded(codes, columns, (before, piece, from) => kernels.overPeriod(before, piece, fit, from));
}

/** What is left after the fitted sine, laid over one period: smallest, largest and mean of each slice; NaN where no reading of the part fell. */
export function foldedResidual(
  codes: Int32Array,
  fit: SineFit,
  part: SinePart,
  columns: number,
): { low: Float64Array; high: Float64Array; mean: Float64Array } {
  const { first, last, bottom, top } = part;
  const { low, high, sum, count } = folded(codes.subarray(first, last + 1), columns, (before, piece, from) =>
    kernels.overPeriodBesideSine(before, piece, fit, first + from, bottom, top),
  );
  return { low, high, mean: sum.map((s, i) => s / count[i]!) };
}

type Folded = ReturnType<typeof kernels.overPeriod>;

function folded(
  codes: Int32Array,
  columns: number,
  lay: (before: Folded, piece: Int32Array, from: number) => Folded,
): Folded {
  const none = (): Float64Array => new Float64Array(columns).fill(Number.NaN);
  let slices: Folded = { low: none(), high: none(), sum: new Float64Array(columns), count: new Float64Array(columns) };
  for (let from = 0; from < codes.length; from += PIECE) slices = lay(slices, codes.subarray(from, from + PIECE), from);
  return slices;
}

/**
 * A curve over codes or frequency reduced to columns of given edges; an untested stretch stays a gap.
 * @param edges  ascending indices; column i spans edges[i] … edges[i+1] − 1
 */
export function columnEnvelope(
  values: Float64Array,
  edges: readonly number[],
): { low: Float64Array; high: Float64Array } {
  return kernels.columnEnvelope(values, Int32Array.from(edges));
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
