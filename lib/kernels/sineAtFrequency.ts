/** Sums over the readings so far, for cosine c and sine s of an angle that turns by the same step from reading to reading; y about a level. */
export class SineProducts {
  /** Of the next reading's angle. */
  c: f64 = 0;
  s: f64 = 0;
  n: f64 = 0;
  sc: f64 = 0;
  ss: f64 = 0;
  scc: f64 = 0;
  scs: f64 = 0;
  sy: f64 = 0;
  syc: f64 = 0;
  sys: f64 = 0;
  syy: f64 = 0;
}

/**
 * Adds readings to the sums, no trigonometric function a reading.
 * @param floor, ceiling  values strictly between them are used, others (and NaN) left out
 */
export function addSineProducts(
  sums: SineProducts,
  values: Float64Array,
  cycles: f64,
  level: f64,
  floor: f64,
  ceiling: f64,
): SineProducts {
  const stepC = Math.cos(2 * Math.PI * cycles);
  const stepS = Math.sin(2 * Math.PI * cycles);
  let c = sums.c;
  let s = sums.s;
  let n = sums.n;
  let sc = sums.sc;
  let ss = sums.ss;
  let scc = sums.scc;
  let scs = sums.scs;
  let sy = sums.sy;
  let syc = sums.syc;
  let sys = sums.sys;
  let syy = sums.syy;
  for (let i = 0; i < values.length; i++) {
    const value = unchecked(values[i]);
    if (value > floor && value < ceiling) {
      const y = value - level;
      n += 1;
      sc += c;
      ss += s;
      scc += c * c;
      scs += c * s;
      sy += y;
      syc += y * c;
      sys += y * s;
      syy += y * y;
    }
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
  sums.c = c;
  sums.s = s;
  sums.n = n;
  sums.sc = sc;
  sums.ss = ss;
  sums.scc = scc;
  sums.scs = scs;
  sums.sy = sy;
  sums.syc = syc;
  sums.sys = sys;
  sums.syy = syy;
  return sums;
}

/** Sums of one node or block, one beside another. */
export const PRODUCTS = 9;

/** Writes them in this order: used, y, y², cos, sin, cos², cos·sin, y·cos, y·sin. */
export function putProducts(into: Float64Array, at: i32, sums: SineProducts): void {
  into[at] = sums.n;
  into[at + 1] = sums.sy;
  into[at + 2] = sums.syy;
  into[at + 3] = sums.sc;
  into[at + 4] = sums.ss;
  into[at + 5] = sums.scc;
  into[at + 6] = sums.scs;
  into[at + 7] = sums.syc;
  into[at + 8] = sums.sys;
}

/**
 * The sums of whole blocks of readings, PRODUCTS each: of block b from element PRODUCTS·b, in the order of putProducts.
 * @param length  readings of a block
 * @param first   number of the first reading; the angle of reading n is 2π·cycles·n + phase
 */
export function blockSineProducts(
  values: Float64Array,
  length: i32,
  first: f64,
  cycles: f64,
  phase: f64,
  level: f64,
  floor: f64,
  ceiling: f64,
): Float64Array {
  const blocks = values.length / length;
  const products = new Float64Array(PRODUCTS * blocks);
  for (let b = 0; b < blocks; b++) {
    const turns = cycles * (first + <f64>(b * length));
    const angle = 2 * Math.PI * (turns - Math.floor(turns)) + phase;
    const sums = new SineProducts();
    sums.c = Math.cos(angle);
    sums.s = Math.sin(angle);
    addSineProducts(sums, values.subarray(b * length, (b + 1) * length), cycles, level, floor, ceiling);
    putProducts(products, PRODUCTS * b, sums);
  }
  return products;
}
