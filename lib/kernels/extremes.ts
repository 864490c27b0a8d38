import { tailDistances } from "./extremesShape";
import { normalQuantile } from "./normal";
import { normal } from "./random";

/** What may come out on top of a noisy curve. */
export class ExtremeCandidates {
  /** 1: the maximum; −1: the minimum; 0: the largest magnitude. */
  sign: i32 = 0;
  /** Index of the largest value as measured. */
  index: i32 = 0;
  /** Variance of the values. */
  spread: f64 = 0;
  /** Indices of the values whose errors matter. */
  places: Int32Array = new Int32Array(0);
  /** These values as they would be without noise. */
  values: Float64Array = new Float64Array(0);
  /** The largest of them. */
  top: f64 = 0;
}

function up(x: f64, sign: i32): f64 {
  return sign === 0 ? abs<f64>(x) : sign * x;
}

/** Values of a curve drawn in to what they would be without noise, those that may come out on top: see extremeEstimator in lib/measure/extremes.ts. */
export function extremeCandidates(values: Float64Array, ownVariance: f64, sign: i32): ExtremeCandidates {
  const count = values.length;
  let mean: f64 = 0;
  for (let i = 0; i < count; i++) mean += unchecked(values[i]) / count;
  let spread: f64 = 0;
  let index = 0;
  let most = count > 0 ? up(values[0], sign) : 0;
  for (let i = 0; i < count; i++) {
    const value = unchecked(values[i]);
    spread += ((value - mean) * (value - mean)) / count;
    if (!(up(value, sign) > most)) continue;
    most = up(value, sign);
    index = i;
  }

  const all = new Candidates(sign === 0 ? 2 * count : count);
  for (let side = 1; side >= -1; side -= 2)
    if (sign === 0 || sign === side) drawIn(values, side, mean, spread, ownVariance, all);
  let top = -Infinity;
  for (let c = 0; c < all.count; c++) top = max<f64>(top, up(all.values[c], sign));
  // A candidate six of its own noise below the top will hardly ever come out on top.
  const far = top - 6 * sqrt<f64>(ownVariance);
  const near = new Candidates(all.count);
  for (let c = 0; c < all.count; c++) if (up(all.values[c], sign) > far) near.add(all.places[c], all.values[c]);
  return {
    sign,
    index,
    spread,
    places: near.places.slice(0, near.count),
    values: near.values.slice(0, near.count),
    top,
  };
}

class Candidates {
  places: Int32Array;
  values: Float64Array;
  count: i32 = 0;

  constructor(most: i32) {
    this.places = new Int32Array(most);
    this.values = new Float64Array(most);
  }

  add(place: i32, value: f64): void {
    this.places[this.count] = place;
    this.values[this.count++] = value;
  }
}

/** One tail's values as they would be without noise, from the farthest on. */
function drawIn(values: Float64Array, side: i32, mean: f64, spread: f64, ownVariance: f64, drawn: Candidates): void {
  const count = values.length;
  const far = normalQuantile(1 - 0.025 / <f64>count) * sqrt<f64>(spread);
  const distances = new Float64Array(count);
  const places = new Int32Array(count);
  let length = 0;
  let within = 0;
  let second: f64 = 0;
  let fourth: f64 = 0;
  for (let i = 0; i < count; i++) {
    const x = side * (unchecked(values[i]) - mean);
    if (!(x > 0)) continue;
    unchecked((distances[i] = x));
    unchecked((places[length++] = i));
    if (x > far) continue;
    within++;
    second += x * x;
    fourth += x * x * x * x;
  }
  if (length === 0) {
    // All equal: the first value stands for all.
    drawn.add(0, values[0]);
    return;
  }
  const tail = byFalling(distances, places.slice(0, length));
  const variance = within > 0 ? second / within : spread;
  const true_ = max<f64>(variance - ownVariance, max<f64>(1e-3 * variance, 1e-300));
  // Excess kurtosis of the true values: noise adds variance, but no excess.
  const excess = within > 1 ? ((fourth * within) / (second * second) - 3) * (variance / true_) * (variance / true_) : 0;
  const shares = new Float64Array(length);
  for (let rank = 0; rank < length; rank++) shares[rank] = (rank + 0.5) / length;
  const reached = tailDistances(true_, 3 + excess, shares, 0.25 / length);
  for (let rank = 0; rank < length; rank++) {
    const x = distances[tail[rank]];
    drawn.add(tail[rank], mean + side * (x > far ? x : min<f64>(x, reached[rank])));
  }
}

/** The places in the order of their values, largest first; equal ones stay in order. Merge sort. */
function byFalling(values: Float64Array, places: Int32Array): Int32Array {
  const count = places.length;
  let from = places;
  let to = new Int32Array(count);
  for (let run = 1; run < count; run *= 2) {
    for (let start = 0; start < count; start += 2 * run) {
      const middle = min<i32>(count, start + run);
      const end = min<i32>(count, start + 2 * run);
      let a = start;
      let b = middle;
      // The next of either run, and its value.
      let placeA = from[a];
      let placeB = b < end ? from[b] : placeA;
      let valueA = values[placeA];
      let valueB = values[placeB];
      for (let n = start; n < end; n++) {
        if (b >= end || (a < middle && valueA >= valueB)) {
          unchecked((to[n] = placeA));
          if (++a >= middle) continue;
          placeA = unchecked(from[a]);
          valueA = values[placeA];
        } else {
          unchecked((to[n] = placeB));
          if (++b >= end) continue;
          placeB = unchecked(from[b]);
          valueB = values[placeB];
        }
      }
    }
    const sorted = to;
    to = from;
    from = sorted;
  }
  return from;
}

/** By how much errors lift the largest of the candidates. */
export function excessOf(candidates: ExtremeCandidates, errors: Float64Array): f64 {
  const places = candidates.places;
  const values = candidates.values;
  const sign = candidates.sign;
  const count = errors.length;
  if (values.length < places.length) unreachable();
  let drawn = -Infinity;
  for (let c = 0; c < places.length; c++) {
    const i = unchecked(places[c]);
    if (i < 0 || i >= count) unreachable();
    const u = up(unchecked(values[c]) + unchecked(errors[i]), sign);
    if (u > drawn) drawn = u;
  }
  return drawn - candidates.top;
}

/**
 * By how much each of some draws lifts the largest candidate, errors drawn that are independent from value to value.
 * @param standard  standard uncertainty of each value
 */
export function independentExcesses(candidates: ExtremeCandidates, standard: Float64Array, draws: i32): Float64Array {
  const places = candidates.places;
  const count = standard.length;
  const errors = new Float64Array(count);
  const excesses = new Float64Array(draws);
  for (let d = 0; d < draws; d++) {
    for (let p = 0; p < places.length; p++) {
      const i = unchecked(places[p]);
      if (i < 0 || i >= count) unreachable();
      unchecked((errors[i] = unchecked(standard[i]) * normal()));
    }
    excesses[d] = excessOf(candidates, errors);
  }
  return excesses;
}

/** How many values reach above a level. */
export function crowdAbove(values: Float64Array, sign: i32, level: f64): i32 {
  let crowd = 0;
  for (let i = 0; i < values.length; i++) if (up(values[i], sign) > level) crowd++;
  return crowd;
}

/** A code this many of its noise above its neighbours may really stand apart; noise alone does that to the largest of some hundreds. */
const APART: f64 = 2.5;
/** One-sided 95 %: where the code really stands apart, the lower end is far away already. */
const Z_ONE_SIDED: f64 = 1.645;
/** Values of a window that tell its course well enough: with this many on each side, every second, third … of a wider one. */
const COURSE_VALUES = 64;

/**
 * How far a code may reach that stands out of the course of its neighbours, of all that come near the top.
 * @param courseOver  half-width of the window, in codes
 * @param level       where the top begins
 */
export function highestApart(
  values: Float64Array,
  standard: Float64Array,
  sign: i32,
  courseOver: i32,
  level: f64,
): f64 {
  let highest = -Infinity;
  // Bytes or lines exchanged look like noise of thousands of codes: their windows would be sorted whole, one for each code.
  const stride = (courseOver + COURSE_VALUES - 1) / COURSE_VALUES;
  const window = new Float64Array((2 * courseOver) / stride + 1);
  for (let i = 0; i < values.length; i++) {
    const x = up(values[i], sign);
    const reach = x + Z_ONE_SIDED * standard[i];
    if (x < level || reach < highest) continue;
    const first = max<i32>(0, i - courseOver);
    const last = min<i32>(values.length - 1, i + courseOver);
    let length = 0;
    for (let j = first; j <= last; j += stride) {
      const y = values[j];
      let w = length++;
      for (; w > 0 && window[w - 1] > y; w--) window[w] = window[w - 1];
      window[w] = y;
    }
    if (x - up(window[length >> 1], sign) > APART * standard[i]) highest = reach;
  }
  return highest;
}

export class Bounds {
  low: f64 = 0;
  high: f64 = 0;
}

/**
 * The simultaneous interval of an extreme. The lower end may come from any code: the one whose own lower bound is highest.
 * @param z      of the lower ends, for all values at once
 * @param skew   Cornish and Fisher's first term for a count's upper tail, in squares of the standard uncertainty
 * @param floor  what the extreme is known to reach
 */
export function simultaneousBounds(
  values: Float64Array,
  standard: Float64Array,
  sign: i32,
  z: f64,
  skew: f64,
  floor: f64,
): Bounds {
  const bounds: Bounds = { low: floor, high: floor };
  for (let i = 0; i < values.length; i++) {
    const x = up(values[i], sign);
    const s = standard[i];
    bounds.low = max<f64>(bounds.low, x - z * s - skew * s * s);
    bounds.high = max<f64>(bounds.high, x + 1.96 * s);
  }
  return bounds;
}
