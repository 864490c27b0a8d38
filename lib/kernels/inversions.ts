/** Σ max(0, y_i − y_j), i < j, through a tree of counts and sums: n·log n. */
export function inversionSum(codes: Int32Array): f64 {
  let lowest = i32.MAX_VALUE;
  let highest = i32.MIN_VALUE;
  for (let i = 0; i < codes.length; i++) {
    const code = unchecked(codes[i]);
    lowest = min(lowest, code);
    highest = max(highest, code);
  }
  if (highest <= lowest) return 0;
  const size = highest - lowest + 1;
  const counts = new Float64Array(size + 1);
  const sums = new Float64Array(size + 1);
  let sum: f64 = 0;
  let allCount: f64 = 0;
  let allSum: f64 = 0;
  for (let n = 0; n < codes.length; n++) {
    // 0 ≤ y < size, so that both walks stay in the tree.
    const y = unchecked(codes[n]) - lowest;
    let count: f64 = 0;
    let below: f64 = 0;
    for (let i = y + 1; i > 0; i -= i & -i) {
      count += unchecked(counts[i]);
      below += unchecked(sums[i]);
    }
    sum += allSum - below - (allCount - count) * y;
    for (let i = y + 1; i <= size; i += i & -i) {
      unchecked((counts[i] += 1));
      unchecked((sums[i] += y));
    }
    allCount += 1;
    allSum += y;
  }
  return sum;
}

/** Steps of the table of overshoots to 1. */
const TABLE = 256;

/**
 * Σ of the table's overshoot over pairs of a sorted run, within reach of the table.
 * @param overshoots  L(u) at steps of 1/TABLE
 * @param every  one reading in so many is a first of pairs
 * @param stride  one partner in so many
 */
export function expectedInversions(
  inputs: Float64Array,
  overshoots: Float64Array,
  spread: f64,
  every: i32,
  stride: i32,
): f64 {
  const scale = TABLE / spread;
  const first = (stride + 1) >> 1;
  let sum: f64 = 0;
  for (let i = 0; i < inputs.length; i += every) {
    const x = inputs[i];
    for (let j = i + first; j < inputs.length; j += stride) {
      const u = (inputs[j] - x) * scale;
      if (u > 4.5 * TABLE) break;
      const cell = <i32>u;
      sum += overshoots[cell] + (u - cell) * (overshoots[cell + 1] - overshoots[cell]);
    }
  }
  return sum;
}

/** How far each of five codes and more lies from the middle two of four neighbours: those are the course, whatever a single one does. */
export function apartFromNeighbours(codes: Int32Array): Float64Array {
  const count = codes.length;
  const apart = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const from = min(count - 5, max(0, i - 2));
    let low = i32.MAX_VALUE;
    let high = i32.MIN_VALUE;
    let sum: f64 = 0;
    for (let j = from; j < from + 5; j++) {
      if (j === i) continue;
      const code = codes[j];
      sum += code;
      low = min(low, code);
      high = max(high, code);
    }
    apart[i] = abs<f64>(codes[i] - (sum - low - high) / 2);
  }
  return apart;
}
