import { kernels } from "../kernels/kernels.generated.js";
import { normalQuantile } from "../signal/normal.ts";

/** The largest (or smallest) of many noisy figures, with an interval for the largest of the true ones. */
export interface Extreme {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** Index of the largest figure as measured. */
  readonly index: number;
  /** How the interval was got. */
  readonly route: "shrinkage" | "simultaneous" | "exact";
}

/** A curve whose extreme is wanted. */
export interface NoisyCurve {
  readonly values: Float64Array;
  /** Standard uncertainty of each value. */
  readonly standard: Float64Array;
  /** Mean square of the errors as they differ from code to code; what all codes share is left out. */
  readonly ownVariance: number;
  /** 1: the maximum; −1: the minimum; 0: the largest magnitude. */
  readonly sign: 1 | -1 | 0;
  /** What the true extreme is known to reach in any case: 0 for DNL and INL, whose curves pass through zero. */
  readonly atLeast: number;
  /** Errors are those of counts: skewed upwards, as Poisson's, when single codes hold few readings. */
  readonly counted?: boolean;
  /**
   * A curve with a smooth course over the codes, INL: half-width of the window, in codes, that tells its course. A single code that stands out of it is either
   * lifted by noise or really apart (a major carry, a missing code), and its interval allows for both.
   */
  readonly courseOver?: number;
}

/** The values that may come out on top, drawn in. */
export interface ExtremeCandidates {
  readonly sign: number;
  /** Index of the largest value as measured. */
  readonly index: number;
  /** Variance of all values. */
  readonly spread: number;
  /** Indices of the values whose errors matter, and these values as they would be without noise. */
  readonly places: Int32Array;
  readonly values: Float64Array;
  /** The largest of them. */
  readonly top: number;
}

export interface ExtremeEstimator {
  /** The interval takes its width from the draws' scatter; otherwise they only tell the mean excess, for which a few do. */
  readonly takesScatter: boolean;
  /** What the kernels of draws need. */
  readonly candidates: ExtremeCandidates;
  /** @param excesses  by how much each draw of errors lifts the largest candidate */
  result(excesses: Float64Array): Extreme;
}

/** Enough draws for a mean excess: a sixth of its scatter, which is a fraction of the interval. */
const FEWEST_DRAWS = 40;
const MOST_DRAWS = 200;

/**
 * How many draws an estimator needs.
 * @param errors  errors that may be drawn for it, all values together
 * @param count   values in a draw
 */
export function drawsFor({ takesScatter }: ExtremeEstimator, errors: number, count: number): number {
  return takesScatter ? Math.round(Math.min(MOST_DRAWS, Math.max(FEWEST_DRAWS, errors / count))) : FEWEST_DRAWS;
}

/** Share of the own noise that stays in the worst code's true value, besides the scatter of the drawn excess. Source: METHODS 5. */
const OWN_SHARE = 0.6;
/** Codes within this many of their noise below the top may all be equally good candidates. */
const CROWD = 2;

/**
 * Estimates the extreme of a curve that carries its own noise in each code. The largest measured value is biased away from zero: of thousands of codes the
 * one that noise lifted most is picked.
 *
 * Where the noise s is at most half of the values' spread: the values of the tail are drawn in until they have the distribution that true values would have, by
 * variance and kurtosis (tailDistances; outliers are left alone), draws of the record's errors are added, and the mean excess of the extreme is taken off; half-width
 * 2·hypot(sd of that excess, 0.6·s·√(1 − s²/sd²)). The lower end also allows that all codes within 2 s of the top are equal in truth, as the codes of a
 * converter with bit weights are.
 * Otherwise the simultaneous interval [max − z_B·s, max + 1.96·s], z_B = Φ⁻¹(1 − 0.025/K): safe and wide.
 * Tried with normal, uniform, Laplace, two-level, bit-weight and major-carry DNL, 256 to 4096 codes: 92–99 % by shrinkage, 97–100 % simultaneous.
 * @throws RangeError  no values
 * Source: METHODS 5, whose shrinkage matches the variance only and fails for flat distributions (57–73 %); Blair, IEEE T-IM 43(3), 1994, for the need of a family-wise level.
 */
export function extremeEstimator(curve: NoisyCurve): ExtremeEstimator {
  const { values, standard, ownVariance, sign, atLeast, counted = false, courseOver } = curve;
  const count = values.length;
  if (count === 0) throw new RangeError("extremeEstimator: requires at least 1 value; got 0");
  const candidates = kernels.extremeCandidates(values, ownVariance, sign);
  const { index, spread } = candidates;
  const top = sign === 0 ? Math.abs(values[index]!) : sign * values[index]!;
  const floor = sign === -1 ? -atLeast : atLeast;
  const s = Math.sqrt(ownVariance);
  const shrinks = ownVariance > 0 && 4 * ownVariance <= spread;
  const signed = (value: number, low: number, high: number, route: Extreme["route"]): Extreme =>
    sign === -1 ? { value: -value, low: -high, high: -low, index, route } : { value, low, high, index, route };
  return {
    takesScatter: shrinks,
    candidates,
    result(excesses) {
      if (ownVariance === 0) return signed(top, top, top, "exact");
      const { mean: excess, scatter } = momentsOf(excesses);
      const value = Math.max(floor, top - excess);
      if (shrinks) {
        const half = 2 * Math.hypot(scatter, OWN_SHARE * s * Math.sqrt(1 - ownVariance / spread));
        const crowd = kernels.crowdAbove(values, sign, top - CROWD * s);
        const equal = top - normalQuantile(0.975 ** (1 / crowd)) * standard[index]!;
        const apart =
          courseOver === undefined ? value : kernels.highestApart(values, standard, sign, courseOver, top - 3 * s);
        return signed(
          value,
          Math.max(floor, Math.min(value - half, equal)),
          Math.max(value + half, apart),
          "shrinkage",
        );
      }
      const z = normalQuantile(1 - 0.025 / (sign === 0 ? 2 * count : count));
      const skew = counted && sign === 1 ? (z ** 2 - 1) / 6 : 0;
      const { low, high } = kernels.simultaneousBounds(values, standard, sign, z, skew, floor);
      return signed(Math.min(high, Math.max(low, value)), low, high, "simultaneous");
    },
  };
}

function momentsOf(excesses: Float64Array): { mean: number; scatter: number } {
  let sum = 0;
  let squares = 0;
  for (const excess of excesses) {
    sum += excess;
    squares += excess * excess;
  }
  const mean = sum / excesses.length;
  return { mean, scatter: Math.sqrt(Math.max(0, squares / excesses.length - mean * mean)) };
}
