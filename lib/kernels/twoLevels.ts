/** Noise on two levels: the course between them, and what it gains. */
export class LevelCourse {
  low: f64 = 0;
  high: f64 = 0;
  /** 0 at a value on the low level, 1 on the high one. */
  path: Uint8Array = new Uint8Array(0);
  /** Squares that two levels save against one, less the price of all switches. */
  gain: f64 = 0;
}

/** A value or two that stand `far` apart from those before and after take the value before. */
export function settledUpsets(values: Float64Array, far: f64): Float64Array {
  const settled = values.slice();
  for (let i = 1; i < settled.length; i++) {
    const before = settled[i - 1];
    if (!(abs<f64>(values[i] - before) > far)) continue;
    if (isBack(values, i + 1, before, far) || isBack(values, i + 2, before, far)) settled[i] = before;
  }
  return settled;
}

function isBack(values: Float64Array, n: i32, before: f64, far: f64): bool {
  return n >= values.length || abs<f64>(values[n] - before) < far;
}

/** Root mean square of the averages over `width` values. */
export function averagesSpread(values: Float64Array, width: i32): f64 {
  const count = values.length / width;
  let squares: f64 = 0;
  for (let b = 0; b < count; b++) {
    let sum: f64 = 0;
    for (let i = b * width; i < (b + 1) * width; i++) sum += values[i];
    squares += (sum / width) * (sum / width);
  }
  return sqrt<f64>(squares / count);
}

/**
 * The course between two levels that leaves the least squares, each switch at a price, and the levels' means along it, in some rounds from ± spread on.
 * @returns null where all values come to one level
 */
export function levelCourse(values: Float64Array, spread: f64, price: f64, rounds: i32): LevelCourse | null {
  const course = new LevelCourse();
  course.low = -spread;
  course.high = spread;
  for (let round = 0; round < rounds; round++) {
    course.path = leastSquaresPath(values, course.low, course.high, price);
    if (!placeLevels(course, values)) return null;
  }
  course.gain = gained(values, course, price);
  return course;
}

/** Source: Viterbi, IEEE Trans. Information Theory 13, 1967. */
function leastSquaresPath(values: Float64Array, low: f64, high: f64, price: f64): Uint8Array {
  const n = values.length;
  // Where the best course to each level came from.
  const from = new Uint8Array(2 * n);
  let costLow: f64 = 0;
  let costHigh: f64 = 0;
  for (let i = 0; i < n; i++) {
    const toLow = costHigh + price < costLow;
    const toHigh = costLow + price < costHigh;
    const below = costLow;
    const above = costHigh;
    costLow = (toLow ? above + price : below) + (values[i] - low) * (values[i] - low);
    costHigh = (toHigh ? below + price : above) + (values[i] - high) * (values[i] - high);
    from[2 * i] = toLow ? 1 : 0;
    from[2 * i + 1] = toHigh ? 0 : 1;
  }
  const path = new Uint8Array(n);
  let at: i32 = costHigh < costLow ? 1 : 0;
  for (let i = n - 1; i >= 0; i--) {
    path[i] = <u8>at;
    at = from[2 * i + at];
  }
  return path;
}

/** Puts both levels at their means; @returns false where one is never taken. */
function placeLevels(course: LevelCourse, values: Float64Array): bool {
  let low: f64 = 0;
  let high: f64 = 0;
  let onHigh = 0;
  for (let i = 0; i < values.length; i++) {
    if (course.path[i] === 0) low += values[i];
    else {
      high += values[i];
      onHigh++;
    }
  }
  if (onHigh === 0 || onHigh === values.length) return false;
  course.low = low / (values.length - onHigh);
  course.high = high / onHigh;
  return true;
}

function gained(values: Float64Array, course: LevelCourse, price: f64): f64 {
  const path = course.path;
  let gain: f64 = 0;
  let sum: f64 = 0;
  for (let i = 0; i < path.length; i++) {
    const left = values[i] - (path[i] === 0 ? course.low : course.high);
    gain += values[i] * values[i] - left * left;
    sum += values[i];
    if (i > 0 && path[i] !== path[i - 1]) gain -= price;
  }
  return gain - (sum * sum) / path.length;
}
