/** A sine of known frequency through a stretch of readings: offset + a·cos θ + b·sin θ. */
export interface SineAtFrequency {
  readonly readings: number;
  readonly offset: number;
  readonly a: number;
  readonly b: number;
  /** Sum of squares about the readings' mean, and what of it the sine leaves. */
  readonly total: number;
  readonly left: number;
  /** Determinant of cosine and sine with the mean taken off, over readings²: ¼ where they are independent, 0 where they cannot be told apart. */
  readonly apart: number;
}

/** Below this cosine, sine and level are one. */
const SINGULAR = 1e-9;

/**
 * Least squares of offset, cosine and sine over readings first…last: one pass, no trigonometric function a reading.
 * @param cycles   per reading
 * @param theta    angle at reading `first`, rad
 * @param level    near the readings' mean, so that sums of squares keep their digits
 * @param exclude  index of a reading → whether to leave it out; null: all are used
 * @returns null where level, cosine and sine cannot be told apart
 * Source: IEEE Std 1057-2017, three-parameter sine fit.
 */
export function sineAtFrequency(
  values: ArrayLike<number>,
  first: number,
  last: number,
  cycles: number,
  theta: number,
  level: number,
  exclude: ((n: number) => boolean) | null,
): SineAtFrequency | null {
  const stepC = Math.cos(2 * Math.PI * cycles);
  const stepS = Math.sin(2 * Math.PI * cycles);
  let c = Math.cos(theta);
  let s = Math.sin(theta);
  let n = 0;
  let sc = 0;
  let ss = 0;
  let scc = 0;
  let scs = 0;
  let sy = 0;
  let syc = 0;
  let sys = 0;
  let syy = 0;
  for (let i = first; i <= last; i++) {
    if (exclude === null || !exclude(i)) {
      const y = values[i]! - level;
      n++;
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
  const cc = scc - (sc * sc) / n;
  const cs = scs - (sc * ss) / n;
  const sq = n - scc - (ss * ss) / n;
  const yc = syc - (sy * sc) / n;
  const ys = sys - (sy * ss) / n;
  const total = syy - (sy * sy) / n;
  const determinant = cc * sq - cs * cs;
  if (!(determinant > SINGULAR * n * n)) return null;
  const a = (yc * sq - ys * cs) / determinant;
  const b = (ys * cc - yc * cs) / determinant;
  return {
    readings: n,
    offset: level + (sy - a * sc - b * ss) / n,
    a,
    b,
    total,
    left: Math.max(0, total - a * yc - b * ys),
    apart: determinant / (n * n),
  };
}
