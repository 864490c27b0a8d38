import { kernels } from "../lib/kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../lib/signal/readingsOf.ts";

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
export function envelope(codes: Int32Array, columns: number): Envelope {
  const each = Math.max(1, Math.ceil(codes.length / columns));
  const count = Math.ceil(codes.length / each);
  const low = new Float64Array(count);
  const high = new Float64Array(count);
  const blocks = Math.max(1, Math.floor(MOST_AT_ONCE / each));
  for (let b = 0; b < count; b += blocks) {
    const piece = kernels.blockEnvelope(codes.subarray(b * each, (b + blocks) * each), each);
    low.set(piece.low, b);
    high.set(piece.high, b);
  }
  return { each, low, high };
}

/** The smallest and the largest code of a record. */
export function extent(codes: Int32Array): readonly [low: number, high: number] {
  const { low, high } = envelope(codes, 1000);
  return [Math.min(...low), Math.max(...high)];
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
