// How much of a record a stimulus leaves unexplained when its words are read otherwise. A rereading moves or turns over lines: its code of 0 and what each line that is 1 turns over in that
// (`lines` numbers together, of as many rereadings as there are) say all about it.

import { isUsable, UsableCodes } from "./usableCodes";

/** Codes as rereadings have them, one after another in the same place. */
class Reread {
  values: Int32Array;
  /** What the lines of each byte turn over together. */
  private table: StaticArray<i32> = new StaticArray<i32>(4 * 256);

  constructor(private codes: Int32Array) {
    // As many as the codes: both are reached without a check.
    this.values = new Int32Array(codes.length);
  }

  by(rereadings: Int32Array, first: i32, lines: i32): Int32Array {
    const table = this.table;
    const codes = this.codes;
    const values = this.values;
    for (let line = 0; line + 1 < lines; line++) {
      const at = 256 * (line >> 3);
      const bit = 1 << (line & 7);
      for (let y = 0; y < bit; y++) table[at + bit + y] = table[at + y] ^ rereadings[first + 1 + line];
    }
    const isLong = lines > 17;
    const zero = rereadings[first];
    for (let n = 0; n < codes.length; n++) {
      const code = unchecked(codes[n]);
      // Where there are no lines, the table is 0.
      let y = zero ^ unchecked(table[code & 255]) ^ unchecked(table[256 + ((code >> 8) & 255)]);
      if (isLong) y ^= unchecked(table[512 + ((code >> 16) & 255)]) ^ unchecked(table[768 + ((code >> 24) & 255)]);
      unchecked((values[n] = y));
    }
    return values;
  }
}

/** Below this cosine, sine and level are one. */
const SINGULAR: f64 = 1e-9;

/**
 * The share that a sine leaves, the best of some frequencies, for each rereading.
 * @param cycles  per reading
 */
export function leftBySine(
  codes: Int32Array,
  cycles: Float64Array,
  usable: UsableCodes,
  rereadings: Int32Array,
  lines: i32,
): Float64Array {
  const least = new Float64Array(rereadings.length / lines).fill(1);
  const kept = new Int32Array(codes.length);
  let count = 0;
  for (let n = 0; n < codes.length; n++) if (isUsable(unchecked(codes[n]), usable)) unchecked((kept[count++] = n));
  if (count < 16) return least;
  const c = new Float64Array(count);
  const s = new Float64Array(count);
  const words = new Reread(codes);
  for (let k = 0; k < cycles.length; k++) {
    const stepC = Math.cos(2 * Math.PI * cycles[k]);
    const stepS = Math.sin(2 * Math.PI * cycles[k]);
    let cn: f64 = 1;
    let sn: f64 = 0;
    let at = 0;
    for (let n = 0; at < count; n++) {
      if (unchecked(kept[at]) === n) {
        unchecked((c[at] = cn));
        unchecked((s[at] = sn));
        at++;
      }
      const next = cn * stepC - sn * stepS;
      sn = sn * stepC + cn * stepS;
      cn = next;
    }
    let sc: f64 = 0;
    let ss: f64 = 0;
    let scc: f64 = 0;
    let scs: f64 = 0;
    for (let i = 0; i < count; i++) {
      const ci = unchecked(c[i]);
      const si = unchecked(s[i]);
      sc += ci;
      ss += si;
      scc += ci * ci;
      scs += ci * si;
    }
    const cc = scc - (sc * sc) / count;
    const cs = scs - (sc * ss) / count;
    const sq = count - scc - (ss * ss) / count;
    const determinant = cc * sq - cs * cs;
    if (!(determinant > SINGULAR * count * count)) continue;
    for (let r = 0; r < least.length; r++) {
      const values = words.by(rereadings, r * lines, lines);
      // Those kept are numbers of codes.
      if (values.length < codes.length) unreachable();
      const level = values[0];
      let sy: f64 = 0;
      let syc: f64 = 0;
      let sys: f64 = 0;
      let syy: f64 = 0;
      for (let i = 0; i < count; i++) {
        const y: f64 = unchecked(values[unchecked(kept[i])]) - level;
        sy += y;
        syc += y * unchecked(c[i]);
        sys += y * unchecked(s[i]);
        syy += y * y;
      }
      const yc = syc - (sy * sc) / count;
      const ys = sys - (sy * ss) / count;
      const total = syy - (sy * sy) / count;
      const a = (yc * sq - ys * cs) / determinant;
      const b = (ys * cc - yc * cs) / determinant;
      if (total > 0) least[r] = min(least[r], max<f64>(0, total - a * yc - b * ys) / total);
    }
  }
  return least;
}

/** The share that a straight line over x leaves, for each rereading; 1 of fewer than 32 readings. */
export function leftByLine(
  codes: Int32Array,
  x: Float64Array,
  usable: UsableCodes,
  rereadings: Int32Array,
  lines: i32,
): Float64Array {
  const left = new Float64Array(rereadings.length / lines).fill(1);
  const words = new Reread(codes);
  for (let r = 0; r < left.length; r++) {
    const values = words.by(rereadings, r * lines, lines);
    let n: f64 = 0;
    let mx: f64 = 0;
    let my: f64 = 0;
    let sxx: f64 = 0;
    let sxy: f64 = 0;
    let syy: f64 = 0;
    for (let i = 0; i < codes.length; i++) {
      if (!isUsable(codes[i], usable) || !Number.isFinite(x[i])) continue;
      n++;
      const dx = x[i] - mx;
      const dy = values[i] - my;
      mx += dx / n;
      my += dy / n;
      sxx += dx * (x[i] - mx);
      sxy += dx * (values[i] - my);
      syy += dy * (values[i] - my);
    }
    if (n >= 32 && sxx > 0 && syy > 0) left[r] = max<f64>(0, 1 - (sxy * sxy) / (sxx * syy));
  }
  return left;
}

/**
 * Mean square of second differences, in units of what scattered codes of the same spread would have, for each rereading.
 * @param turns  1 for readings beside an apex, whose differences do not count
 */
export function leftByBends(codes: Int32Array, turns: Uint8Array, rereadings: Int32Array, lines: i32): Float64Array {
  const left = new Float64Array(rereadings.length / lines).fill(1);
  const words = new Reread(codes);
  for (let r = 0; r < left.length; r++) {
    const values = words.by(rereadings, r * lines, lines);
    let bends: f64 = 0;
    let used: f64 = 0;
    let mean: f64 = 0;
    let squares: f64 = 0;
    for (let n = 2; n < codes.length; n++) {
      const y: f64 = values[n];
      if (turns[n - 1] === 0) {
        const bend: f64 = y - 2 * <f64>values[n - 1] + values[n - 2];
        bends += bend * bend;
        used++;
      }
      const delta = y - mean;
      mean += delta / (n - 1);
      squares += delta * (y - mean);
    }
    if (squares > 0 && used > 16) left[r] = ((bends / used) * (codes.length - 2)) / 6 / squares;
  }
  return left;
}

/** Variance about the mean, codes², for each rereading. @param middle  near the mean */
export function leftByLevel(codes: Int32Array, middle: f64, rereadings: Int32Array, lines: i32): Float64Array {
  const left = new Float64Array(rereadings.length / lines);
  const words = new Reread(codes);
  for (let r = 0; r < left.length; r++) {
    const values = words.by(rereadings, r * lines, lines);
    let sum: f64 = 0;
    let squares: f64 = 0;
    for (let n = 0; n < codes.length; n++) {
      const y = values[n] - middle;
      sum += y;
      squares += y * y;
    }
    left[r] = (squares - (sum * sum) / codes.length) / codes.length;
  }
  return left;
}
