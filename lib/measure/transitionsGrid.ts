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
