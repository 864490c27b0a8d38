import { isRising, Triangle, triangleAt } from "./triangle";

/** What readings leave of a triangle, by its slope and in cells of its height. */
export class SlopeSums {
  /** Rising in the first half, falling in the second. */
  sums: Float64Array = new Float64Array(0);
  counts: Float64Array = new Float64Array(0);
}

function cellOf(triangle: Triangle, y: f64, cells: i32): i32 {
  const share = (y - triangle.offset + triangle.amplitude) / (2 * triangle.amplitude);
  return max(0, min(cells - 1, <i32>floor<f64>(share * cells)));
}

/** Adds readings `first` on to the sums; those beyond the limit, or where the triangle is not strictly between low and high, say nothing. */
export function addToSweepCurve(
  before: SlopeSums,
  codes: Int32Array,
  triangle: Triangle,
  first: f64,
  low: f64,
  high: f64,
  limit: f64,
): SlopeSums {
  const cells = before.sums.length / 2;
  for (let i = 0; i < codes.length; i++) {
    const y = triangleAt(triangle, first + i);
    const left = codes[i] - y;
    if (!(y > low && y < high) || abs<f64>(left) > limit) continue;
    const cell = cellOf(triangle, y, cells) + (isRising(triangle, first + i) ? 0 : cells);
    before.sums[cell] += left;
    before.counts[cell] += 1;
  }
  return before;
}

/**
 * Means of `step` readings from `first` on of what a triangle and the curve over its height leave; 0 where the triangle is not strictly between low and high, or it is beyond the limit.
 */
export function meansBesideTriangle(
  codes: Int32Array,
  triangle: Triangle,
  curve: Float64Array,
  first: f64,
  step: i32,
  low: f64,
  high: f64,
  limit: f64,
): Float64Array {
  const means = new Float64Array(codes.length / step);
  for (let i = 0, n = 0; i < means.length; i++) {
    let sum: f64 = 0;
    for (const end = n + step; n < end; n++) {
      const y = triangleAt(triangle, first + n);
      if (!(y > low && y < high)) continue;
      const left = codes[n] - y - curve[cellOf(triangle, y, curve.length)];
      if (abs<f64>(left) < limit) sum += left;
    }
    means[i] = sum / step;
  }
  return means;
}

/** By how many codes blocks of readings are ahead of a triangle on average, in the direction of its slope. */
export class AheadOfTriangle {
  /** The curve taken off; NaN where fewer than half of a block's readings show. */
  ahead: Float64Array = new Float64Array(0);
  /** The curve left in. */
  plain: Float64Array = new Float64Array(0);
}

/** Blocks of `length` readings from `first` on. Readings where the triangle is not strictly between low and high, or which are beyond the limit, do not show. */
export function aheadOfTriangle(
  codes: Int32Array,
  triangle: Triangle,
  curve: Float64Array,
  first: f64,
  length: i32,
  low: f64,
  high: f64,
  limit: f64,
): AheadOfTriangle {
  const blocks = new AheadOfTriangle();
  const count = codes.length / length;
  blocks.ahead = new Float64Array(count);
  blocks.plain = new Float64Array(count);
  for (let b = 0, n = 0; b < count; b++) {
    let sum: f64 = 0;
    let raw: f64 = 0;
    let used: f64 = 0;
    for (const end = n + length; n < end; n++) {
      const y = triangleAt(triangle, first + n);
      if (!(y > low && y < high)) continue;
      const away = codes[n] - y;
      const left = away - curve[cellOf(triangle, y, curve.length)];
      if (!(abs<f64>(left) <= limit)) continue;
      const rises = isRising(triangle, first + n);
      sum += rises ? left : -left;
      raw += rises ? away : -away;
      used++;
    }
    blocks.ahead[b] = used < 0.5 * length ? NaN : sum / used;
    blocks.plain[b] = raw / used;
  }
  return blocks;
}
