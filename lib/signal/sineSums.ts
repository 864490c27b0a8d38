import { kernels } from "../kernels/kernels.generated.js";
import { piecesOf, readingsOf } from "./readingsOf.ts";
import { ALL_CODES, type UsableCodes } from "./usableCodes.ts";

/**
 * A sine about the middle of a stretch of readings: offset + a·cos θ + b·sin θ, θ = 2π·f·(n − centre).
 * The middle is where frequency and phase are least correlated, which keeps the fit well conditioned.
 */
export interface CentredSine {
  readonly frequency: number;
  readonly centre: number;
  readonly offset: number;
  readonly a: number;
  readonly b: number;
}

/**
 * Sums over a stretch, for columns [1, c, s, u·c, u·s], c = cos θ, s = sin θ, u = (n − centre)/half in −1…1, and the remainder r = y −
 * model.
 */
export interface SineSums {
  readonly readings: number;
  /** Half the stretch's length, the unit of u. */
  readonly half: number;
  /** Σ column·r. */
  readonly g: Float64Array;
  /** Σ column·column, 5×5. */
  readonly H: Float64Array;
  /** Σ r². */
  readonly rr: number;
}

/**
 * One pass over readings first…last.
 * @param usable  codes to use: not the rails
 * Cost: about ten multiplications a reading, no trigonometric function, no memory of the stretch's length.
 */
export function sineSums(
  codes: ArrayLike<number>,
  first: number,
  last: number,
  model: CentredSine,
  usable: UsableCodes | null = null,
): SineSums {
  const { floor, ceiling } = usable ?? ALL_CODES;
  let sums = {
    readings: 0,
    half: Math.max((last - first) / 2, 0.5),
    g: new Float64Array(5) as Float64Array,
    H: new Float64Array(25) as Float64Array,
    rr: 0,
    block: new Float64Array(0) as Float64Array,
  };
  for (const { from, to } of piecesOf(last - first + 1)) {
    const values = readingsOf(codes, first + from, first + to);
    sums = kernels.addSineSums(sums, values, first + from, model, floor, ceiling);
  }
  return sums;
}
