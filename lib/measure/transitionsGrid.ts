/**
 * Where the readings of a sweep lie along it: distinct positions in rising order, and how many readings fell on each.
 * Position 0 is the lowest input, 1 the highest.
 */
export interface PositionGrid {
  readonly positions: Float64Array;
  /** Readings at or before each position; the last element is the number of readings. */
  readonly counts: Float64Array;
  readonly readings: number;
}

/**
 * Buckets that positions are counted in when there are more readings than this; fewer are kept exactly. A bucket is a few hundredths of an LSB, and
 * no more than a count: a pass over a long record touches a new one with every reading, and is as fast as they are close together in memory.
 */
export function bucketCount(codes: number): number {
  return Math.min(1 << 21, Math.max(1 << 17, 2 ** Math.ceil(Math.log2(16 * codes))));
}

/** Positions closer than this share of the mean gap are one position that came several times (a record that repeats its phases). */
const SAME = 1e-3;

/** A grid of positions that are already in order, one reading each. */
export function gridOf(sorted: Float64Array): PositionGrid {
  const readings = sorted.length;
  const tolerance = SAME / readings;
  let distinct = 0;
  const positions = sorted.slice();
  const counts = new Float64Array(readings);
  for (let n = 0; n < readings; n++) {
    // Compared with the previous reading, not with the group's first, so that a slow drift through a group keeps it together.
    if (n > 0 && sorted[n]! - sorted[n - 1]! < tolerance) counts[distinct - 1] = n + 1;
    else {
      positions[distinct] = sorted[n]!;
      counts[distinct++] = n + 1;
    }
  }
  return { positions: positions.subarray(0, distinct), counts: counts.subarray(0, distinct), readings };
}

/**
 * A grid from readings counted in equal buckets of 0…1. Each stands in the middle of its bucket: where all buckets are filled, the edges between positions are then the
 * buckets' own, below which the count is exact.
 * @param filled  readings of each bucket
 */
export function gridOfBuckets(filled: Int32Array): PositionGrid {
  let distinct = 0;
  for (let i = 0; i < filled.length; i++) if (filled[i]! > 0) distinct++;
  const positions = new Float64Array(distinct);
  const counts = new Float64Array(distinct);
  let sum = 0;
  for (let i = 0, j = 0; i < filled.length; i++) {
    const count = filled[i]!;
    if (count === 0) continue;
    sum += count;
    positions[j] = (i + 0.5) / filled.length;
    counts[j++] = sum;
  }
  return { positions, counts, readings: sum };
}

/** Two sorted lists as one. */
export function merged(a: Float64Array, b: Float64Array): Float64Array {
  const all = new Float64Array(a.length + b.length);
  let i = 0;
  let j = 0;
  for (let n = 0; n < all.length; n++) all[n] = j >= b.length || (i < a.length && a[i]! <= b[j]!) ? a[i++]! : b[j++]!;
  return all;
}

/**
 * Sorts positions in 0…1 in place of a comparison sort: they are spread nearly evenly, so that a bucket of one mean gap holds about one of them. A
 * record that repeats its phases fills few buckets with many; those are sorted by comparison.
 */
export function sortPositions(values: Float64Array): Float64Array {
  const count = values.length;
  if (count < 64) return values.slice().sort();
  const starts = new Int32Array(count + 1);
  const bucketOf = (x: number): number => Math.min(count - 1, Math.floor(x * count));
  for (let n = 0; n < count; n++) starts[bucketOf(values[n]!) + 1]!++;
  for (let b = 0; b < count; b++) starts[b + 1]! += starts[b]!;
  const next = starts.slice(0, count);
  const sorted = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    const x = values[n]!;
    sorted[next[bucketOf(x)]!++] = x;
  }
  for (let b = 0; b < count; b++) {
    const from = starts[b]!;
    const to = starts[b + 1]!;
    if (to - from > 24) sorted.subarray(from, to).sort();
    else
      for (let i = from + 1; i < to; i++) {
        const x = sorted[i]!;
        let j = i - 1;
        for (; j >= from && sorted[j]! > x; j--) sorted[j + 1] = sorted[j]!;
        sorted[j + 1] = x;
      }
  }
  return sorted;
}
