import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE, piecesOf, readingsOf } from "./readingsOf.ts";
import { ALL_CODES, type UsableCodes } from "./usableCodes.ts";

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
 * @param usable  codes to use; null: all; NaN is left out in any case
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
  usable: UsableCodes | null,
): SineAtFrequency | null {
  let sums = {
    c: Math.cos(theta),
    s: Math.sin(theta),
    n: 0,
    sc: 0,
    ss: 0,
    scc: 0,
    scs: 0,
    sy: 0,
    syc: 0,
    sys: 0,
    syy: 0,
  };
  const { floor, ceiling } = usable ?? ALL_CODES;
  for (const { from, to } of piecesOf(last - first + 1))
    sums = kernels.addSineProducts(sums, readingsOf(values, first + from, first + to), cycles, level, floor, ceiling);
  return sineOf(sums, level);
}

/**
 * The sines of blocks of `length` readings one after the other, as sineAtFrequency's each; memory for the blocks only.
 * @param phase  angle at reading 0, rad
 */
export function blockSines(
  codes: Int32Array,
  length: number,
  cycles: number,
  phase: number,
  level: number,
  usable: UsableCodes | null,
): (SineAtFrequency | null)[] {
  const { floor, ceiling } = usable ?? ALL_CODES;
  const count = Math.floor(codes.length / length);
  const atOnce = Math.max(1, Math.floor(MOST_AT_ONCE / length));
  const sines: (SineAtFrequency | null)[] = [];
  for (let from = 0; from < count; from += atOnce) {
    const first = from * length;
    const values = readingsOf(codes, first, Math.min(count, from + atOnce) * length);
    const sums = kernels.blockSineProducts(values, length, first, cycles, phase, level, floor, ceiling);
    for (let i = 0; i < sums.length; i += 9) {
      const [n, sy, syy, sc, ss, scc, scs, syc, sys] = sums.subarray(i, i + 9) as unknown as Nine;
      sines.push(sineOf({ n, sc, ss, scc, scs, sy, syc, sys, syy }, level));
    }
  }
  return sines;
}

type Nine = [number, number, number, number, number, number, number, number, number];

/** Sums over readings of cosine c and sine s, and of readings y about a level. */
interface Products {
  readonly n: number;
  readonly sc: number;
  readonly ss: number;
  readonly scc: number;
  readonly scs: number;
  readonly sy: number;
  readonly syc: number;
  readonly sys: number;
  readonly syy: number;
}

function sineOf({ n, sc, ss, scc, scs, sy, syc, sys, syy }: Products, level: number): SineAtFrequency | null {
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
