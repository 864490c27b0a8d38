import { addSineProducts, PRODUCTS, putProducts, SineProducts } from "./sineAtFrequency";

/** Share of a column that must be left when the others are projected out. */
const SINGULAR: f64 = 1e-7;

/** Adds readings first…end − 1, the first of them `turns` from the cosine's peak, to the sums of one node, for those of the next; NaN is left out. */
function addReadings(
  sums: Float64Array,
  node: i32,
  readings: Float64Array,
  first: i32,
  end: i32,
  cycles: f64,
  turns: f64,
  middle: f64,
): void {
  const at = PRODUCTS * node;
  const next = at + PRODUCTS;
  const angle = 2 * Math.PI * (turns - floor<f64>(turns));
  const products = new SineProducts();
  products.c = Math.cos(angle);
  products.s = Math.sin(angle);
  products.n = sums[at];
  products.sy = sums[at + 1];
  products.syy = sums[at + 2];
  products.sc = sums[at + 3];
  products.ss = sums[at + 4];
  products.scc = sums[at + 5];
  products.scs = sums[at + 6];
  products.syc = sums[at + 7];
  products.sys = sums[at + 8];
  addSineProducts(products, readings.subarray(first, end), cycles, middle, -Infinity, Infinity);
  putProducts(sums, next, products);
}

/** What a sine leaves of the readings between two nodes. */
function left(sums: Float64Array, from: i32, to: i32): f64 {
  const a = PRODUCTS * from;
  const b = PRODUCTS * to;
  const n = sums[b] - sums[a];
  if (n < 1) return 0;
  const y = sums[b + 1] - sums[a + 1];
  const c = sums[b + 3] - sums[a + 3];
  const s = sums[b + 4] - sums[a + 4];
  const c2 = sums[b + 5] - sums[a + 5];
  let rest = sums[b + 2] - sums[a + 2] - (y * y) / n;
  const cc = c2 - (c * c) / n;
  const yc = sums[b + 7] - sums[a + 7] - (y * c) / n;
  let ss = n - c2 - (s * s) / n;
  let ys = sums[b + 8] - sums[a + 8] - (y * s) / n;
  if (cc > SINGULAR * n) {
    const cs = sums[b + 6] - sums[a + 6] - (c * s) / n;
    rest -= (yc * yc) / cc;
    ss -= (cs * cs) / cc;
    ys -= (yc * cs) / cc;
  }
  if (ss > SINGULAR * n) rest -= (ys * ys) / ss;
  return max<f64>(0, rest);
}

/** First reading of each piece, the first of them 0, and what the pieces cost. */
export class Pieces {
  starts: Int32Array = new Int32Array(0);
  cost: f64 = 0;
}

/**
 * The pieces that cost least, each a sine of its own level, amplitude and phase, by dynamic programming over the places between blocks of readings.
 * @param readings  NaN for one to leave out
 * @param middle    near the readings' mean
 * @param length    readings of a block; the last holds what is left
 * @param shortest  blocks of a piece, at least
 * @param fee       price of a piece
 */
export function cheapestPieces(
  readings: Float64Array,
  cycles: f64,
  middle: f64,
  length: i32,
  nodes: i32,
  shortest: i32,
  fee: f64,
): Pieces {
  const sums = new Float64Array(PRODUCTS * (nodes + 1));
  for (let b = 0; b < nodes; b++) {
    const end = b === nodes - 1 ? readings.length : (b + 1) * length;
    addReadings(sums, b, readings, b * length, end, cycles, cycles * b * length, middle);
  }
  const cost = new Float64Array(nodes + 1).fill(Infinity);
  const from = new Int32Array(nodes + 1);
  cost[0] = -fee;
  for (let to = shortest; to <= nodes; to++)
    for (let start = 0; start + shortest <= to; start++) {
      const before = cost[start] + fee;
      if (before >= cost[to]) continue;
      const total = before + left(sums, start, to);
      if (total < cost[to]) {
        cost[to] = total;
        from[to] = start;
      }
    }
  let count = 0;
  for (let to = nodes; to > 0; to = from[to]) count++;
  const starts = new Int32Array(count);
  for (let to = nodes; to > 0; to = from[to]) starts[--count] = from[to] * length;
  return { starts, cost: cost[nodes] };
}

/** Variances about a sine of its own of windows that lie one after another; those with a NaN are left out. */
export function windowVariances(readings: Float64Array, cycles: f64, window: i32): Float64Array {
  const found = new Float64Array(readings.length / window);
  const sums = new Float64Array(2 * PRODUCTS);
  let count = 0;
  for (let first = 0; first < readings.length; first += window) {
    addReadings(sums, 0, readings, first, first + window, cycles, 0, readings[first + (window >> 1)]);
    // Level, cosine and sine are fitted away.
    if (sums[PRODUCTS] === <f64>window) found[count++] = left(sums, 0, 1) / (window - 3);
  }
  return found.slice(0, count);
}
