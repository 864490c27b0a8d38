import { PositionGrid } from "./positionGrid";

/** Positions closer than this share of the mean gap are one position that came several times (a record that repeats its phases). */
const SAME: f64 = 1e-3;

/** A grid of positions that are already in order, one reading each. */
export function gridOf(sorted: Float64Array): PositionGrid {
  const readings = sorted.length;
  const tolerance = SAME / readings;
  let distinct = 0;
  const positions = new Float64Array(readings);
  const counts = new Float64Array(readings);
  for (let n = 0; n < readings; n++) {
    // Compared with the previous reading, not with the group's first, so that a slow drift through a group keeps it together.
    if (n > 0 && sorted[n] - sorted[n - 1] < tolerance) counts[distinct - 1] = n + 1;
    else {
      positions[distinct] = sorted[n];
      counts[distinct++] = n + 1;
    }
  }
  return { positions: positions.slice(0, distinct), counts: counts.slice(0, distinct), readings };
}

/**
 * A grid from readings counted in equal buckets of 0…1. Each stands in the middle of its bucket: where all buckets are filled, the edges between positions are then the
 * buckets' own, below which the count is exact.
 * @param more  further readings of each bucket, or none at all
 */
export function gridOfBuckets(filled: Int32Array, more: Int32Array): PositionGrid {
  const buckets = filled.length;
  const positions = new Float64Array(buckets);
  const counts = new Float64Array(buckets);
  let distinct = 0;
  let sum = 0;
  const isMore = more.length > 0;
  if (isMore && more.length < buckets) unreachable();
  for (let i = 0; i < buckets; i++) {
    const count = unchecked(filled[i]) + (isMore ? unchecked(more[i]) : 0);
    if (count === 0) continue;
    sum += count;
    unchecked((positions[distinct] = (i + 0.5) / buckets));
    unchecked((counts[distinct++] = sum));
  }
  return { positions: positions.slice(0, distinct), counts: counts.slice(0, distinct), readings: sum };
}

/** Two sorted lists as one. */
export function merged(a: Float64Array, b: Float64Array): Float64Array {
  const all = new Float64Array(a.length + b.length);
  let i = 0;
  let j = 0;
  for (let n = 0; n < all.length; n++) all[n] = j >= b.length || (i < a.length && a[i] <= b[j]) ? a[i++] : b[j++];
  return all;
}

/**
 * Sorts positions in 0…1 without a comparison sort: they are spread nearly evenly, so that a bucket of one mean gap holds about one of them. A
 * record that repeats its phases fills few buckets with many; those are sorted by comparison.
 */
export function sortedPositions(values: Float64Array): Float64Array {
  const count = values.length;
  const starts = new Int32Array(count + 1);
  for (let n = 0; n < count; n++) starts[bucketOf(unchecked(values[n]), count) + 1]++;
  let before = 0;
  for (let b = 1; b <= count; b++) {
    before += unchecked(starts[b]);
    unchecked((starts[b] = before));
  }
  const next = starts.slice(0, count);
  const sorted = new Float64Array(count);
  for (let n = 0; n < count; n++) sorted[next[bucketOf(values[n], count)]++] = values[n];
  for (let b = 0; b < count; b++) {
    const from = unchecked(starts[b]);
    const to = unchecked(starts[b + 1]);
    if (to - from > 24) sorted.subarray(from, to).sort();
    else
      for (let i = from + 1; i < to; i++) {
        const x = sorted[i];
        let j = i - 1;
        for (; j >= from && sorted[j] > x; j--) sorted[j + 1] = sorted[j];
        sorted[j + 1] = x;
      }
  }
  return sorted;
}

function bucketOf(x: f64, buckets: i32): i32 {
  return min(buckets - 1, <i32>(x * buckets));
}
