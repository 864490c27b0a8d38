import { AlongSine, BLOCK, Sine } from "./alongSine";
import { median5 } from "./median";
import { Triangle, triangleAt } from "./triangle";

/** Readings that stand further away than a limit: places in the codes given, and how far away. */
export class Far {
  at: Int32Array = new Int32Array(0);
  sizes: Float64Array = new Float64Array(0);
}

function farOf(away: Float64Array, limit: f64): Far {
  let count = 0;
  for (let i = 0; i < away.length; i++) if (abs<f64>(unchecked(away[i])) > limit) count++;
  const far = new Far();
  far.at = new Int32Array(count);
  far.sizes = new Float64Array(count);
  for (let i = 0, k = 0; k < count; i++) {
    // Before the last of those counted.
    const size = abs<f64>(unchecked(away[i]));
    if (!(size > limit)) continue;
    far.at[k] = i;
    far.sizes[k++] = size;
  }
  return far;
}

/**
 * Distances of evenly picked readings from a sine that stops at low and high.
 * @param codes  of readings first, first + stride, …
 */
export function sizesAboutSine(
  codes: Int32Array,
  sine: Sine,
  first: f64,
  stride: i32,
  low: f64,
  high: f64,
): Float64Array {
  const omega = 2 * Math.PI * sine.cyclesPerReading;
  const sizes = new Float64Array(codes.length);
  for (let i = 0; i < codes.length; i++) {
    const n = first + <f64>i * stride;
    const model = sine.offset + sine.amplitude * Math.cos(omega * n + sine.phase);
    sizes[i] = abs<f64>(codes[i] - max<f64>(low, min<f64>(high, model)));
  }
  return sizes;
}

/**
 * Readings far from a sine that stops at low and high. One that shows the reading before again is not among them.
 * @param before  the reading before the first; NaN for none
 */
export function farFromSine(
  codes: Int32Array,
  before: f64,
  sine: Sine,
  first: f64,
  low: f64,
  high: f64,
  limit: f64,
): Far {
  const away = new Float64Array(codes.length);
  const along = new AlongSine(sine, first);
  for (let start = 0; start < codes.length; start += BLOCK) {
    const models = along.ahead();
    const end = min(codes.length, start + BLOCK);
    for (let i = start; i < end; i++) {
      const code: f64 = unchecked(codes[i]);
      const model = unchecked(models[i - start]);
      if (code !== before) unchecked((away[i] = code - max<f64>(low, min<f64>(high, model))));
      before = code;
    }
  }
  return farOf(away, limit);
}

/** How far reading n stands from a triangle that stops at the ends of the range, 0 and top; at an apex, which a source rounds, one reading's advance is allowed for. */
function awayFromTriangle(code: f64, triangle: Triangle, n: f64, top: f64, slope: f64): f64 {
  const away = code - max<f64>(0, min<f64>(top, triangleAt(triangle, n)));
  const halves = 2 * (triangle.frequency * n + triangle.start);
  const isApex = abs<f64>(halves - Math.round(halves)) < 2 * triangle.frequency;
  return isApex ? max<f64>(0, abs<f64>(away) - slope) : away;
}

/**
 * Distances of evenly picked readings from a triangle that stops at the ends of the range, 0 and top.
 * @param codes  of readings first, first + stride, …
 */
export function sizesAboutTriangle(
  codes: Int32Array,
  triangle: Triangle,
  first: f64,
  stride: i32,
  top: f64,
): Float64Array {
  const sizes = new Float64Array(codes.length);
  for (let i = 0; i < codes.length; i++)
    sizes[i] = abs<f64>(codes[i] - max<f64>(0, min<f64>(top, triangleAt(triangle, first + <f64>i * stride))));
  return sizes;
}

/** Readings, from `first` on, far from a triangle; slope in codes a reading. */
export function farFromTriangle(
  codes: Int32Array,
  triangle: Triangle,
  first: f64,
  top: f64,
  slope: f64,
  limit: f64,
): Far {
  const away = new Float64Array(codes.length);
  for (let i = 0; i < codes.length; i++) away[i] = awayFromTriangle(codes[i], triangle, first + i, top, slope);
  return farOf(away, limit);
}

/**
 * How far every stride-th reading stands from the median of five, itself in the middle.
 * @param codes     two readings on each side of those asked for included
 * @param expected  codes that are applied, beside which a reading may stand nearer; none where they are not known
 */
export function awayFromNeighbours(codes: Int32Array, expected: Float64Array, stride: i32): Float64Array {
  const away = new Float64Array((codes.length - 5) / stride + 1);
  for (let k = 0; k < away.length; k++) {
    const i = 2 + k * stride;
    const raw = codes[i] - median5(codes[i - 2], codes[i - 1], codes[i], codes[i + 1], codes[i + 2]);
    away[k] = raw;
    if (raw === 0 || expected.length === 0) continue;
    const at: f64 = codes[i] - expected[i];
    const beside =
      at -
      median5(
        codes[i - 2] - expected[i - 2],
        codes[i - 1] - expected[i - 1],
        at,
        codes[i + 1] - expected[i + 1],
        codes[i + 2] - expected[i + 2],
      );
    if (abs<f64>(beside) < abs<f64>(raw)) away[k] = beside;
  }
  return away;
}

/** Readings far from the median of five; places count from the third code. */
export function farFromNeighbours(codes: Int32Array, expected: Float64Array, limit: f64): Far {
  return farOf(awayFromNeighbours(codes, expected, 1), limit);
}
