import { normalQuantile } from "../signal/normal.ts";
import { tailOf } from "./extremesShape.ts";

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

export interface ExtremeEstimator {
  /** The interval takes its width from the draws' scatter; otherwise they only tell the mean excess, for which a few do. */
  readonly takesScatter: boolean;
  /** Indices of the values whose errors matter: those that may come out on top. */
  readonly places: Int32Array;
  /**
   * One draw of the errors of all values at once, so that what is correlated stays so.
   * @param errors  one for each value, in the places that matter
   */
  add(errors: Float64Array): void;
  result(): Extreme;
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
/** A code this many of its noise above its neighbours may really stand apart; noise alone does that to the largest of some hundreds. */
const APART = 2.5;
/** One-sided 95 %: where the code really stands apart, the lower end is far away already. */
const Z_ONE_SIDED = 1.645;
/** Values of a window that tell its course well enough: with this many on each side, every second, third … of a wider one. */
const COURSE_VALUES = 64;
/** Codes within this many of their noise below the top may all be equally good candidates. */
const CROWD = 2;

/**
 * Estimates the extreme of a curve that carries its own noise in each code. The largest measured value is biased away from zero: of thousands of codes the
 * one that noise lifted most is picked.
 *
 * Where the noise s is at most half of the values' spread: the values of the tail are drawn in until they have the distribution that true values would have, by
 * variance and kurtosis (tailOf; outliers are left alone), draws of the record's errors are added, and the mean excess of the extreme is taken off; half-width
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
  const up = (x: number): number => (sign === 0 ? Math.abs(x) : sign * x);
  let mean = 0;
  for (const x of values) mean += x / count;
  let spread = 0;
  for (const x of values) spread += (x - mean) ** 2 / count;
  let index = 0;
  for (let i = 1; i < count; i++) if (up(values[i]!) > up(values[index]!)) index = i;
  const top = up(values[index]!);
  const floor = sign === -1 ? -atLeast : atLeast;
  const s = Math.sqrt(ownVariance);
  const shrinks = ownVariance > 0 && 4 * ownVariance <= spread;

  const candidates: number[] = [];
  const shrunk: number[] = [];
  for (const side of sign === 0 ? [1, -1] : [sign]) drawIn(values, side, mean, spread, ownVariance, candidates, shrunk);
  let shrunkTop = Number.NEGATIVE_INFINITY;
  for (const x of shrunk) shrunkTop = Math.max(shrunkTop, up(x));
  // A candidate six of its own noise below the top will hardly ever come out on top.
  const near = candidates.map((_, c) => c).filter((c) => up(shrunk[c]!) > shrunkTop - 6 * s);
  const nearIndex = Int32Array.from(near, (c) => candidates[c]!);
  const nearValue = Float64Array.from(near, (c) => shrunk[c]!);

  let draws = 0;
  let sum = 0;
  let squares = 0;
  return {
    takesScatter: shrinks,
    places: nearIndex,
    add(errors) {
      let drawn = Number.NEGATIVE_INFINITY;
      for (let c = 0; c < nearIndex.length; c++) {
        const x = nearValue[c]! + errors[nearIndex[c]!]!;
        const u = sign === 1 ? x : sign === -1 ? -x : Math.abs(x);
        if (u > drawn) drawn = u;
      }
      const excess = drawn - shrunkTop;
      draws++;
      sum += excess;
      squares += excess * excess;
    },
    result() {
      const signed = (value: number, low: number, high: number, route: Extreme["route"]): Extreme =>
        sign === -1 ? { value: -value, low: -high, high: -low, index, route } : { value, low, high, index, route };
      if (ownVariance === 0) return signed(top, top, top, "exact");
      const excess = draws > 0 ? sum / draws : 0;
      const scatter = draws > 0 ? Math.sqrt(Math.max(0, squares / draws - excess * excess)) : s;
      const value = Math.max(floor, top - excess);
      if (shrinks) {
        const half = 2 * Math.hypot(scatter, OWN_SHARE * s * Math.sqrt(1 - ownVariance / spread));
        let crowd = 0;
        for (const x of values) if (up(x) > top - CROWD * s) crowd++;
        const equal = top - normalQuantile(0.975 ** (1 / crowd)) * standard[index]!;
        const apart = courseOver === undefined ? value : highestApart(curve, courseOver, top - 3 * s, up);
        return signed(
          value,
          Math.max(floor, Math.min(value - half, equal)),
          Math.max(value + half, apart),
          "shrinkage",
        );
      }
      const zBonferroni = normalQuantile(1 - 0.025 / (sign === 0 ? 2 * count : count));
      // The lower end may come from any code: the one whose own lower bound is highest.
      let low = floor;
      let high = floor;
      for (let i = 0; i < count; i++) {
        const x = up(values[i]!);
        // Cornish and Fisher's first term for a count's upper tail.
        const skew = counted && sign === 1 ? ((zBonferroni ** 2 - 1) / 6) * standard[i]! ** 2 : 0;
        low = Math.max(low, x - zBonferroni * standard[i]! - skew);
        high = Math.max(high, x + 1.96 * standard[i]!);
      }
      return signed(Math.min(high, Math.max(low, value)), low, high, "simultaneous");
    },
  };
}

/** How far a code may reach that stands out of the course of its neighbours, of all that come near the top. */
function highestApart(
  { values, standard }: NoisyCurve,
  courseOver: number,
  from: number,
  up: (x: number) => number,
): number {
  let highest = Number.NEGATIVE_INFINITY;
  // Bytes or lines exchanged look like noise of thousands of codes: their windows would be sorted whole, one for each code.
  const stride = Math.ceil(courseOver / COURSE_VALUES);
  for (let i = 0; i < values.length; i++) {
    const x = up(values[i]!);
    const reach = x + Z_ONE_SIDED * standard[i]!;
    if (x < from || reach < highest) continue;
    const first = Math.max(0, i - courseOver);
    const last = Math.min(values.length - 1, i + courseOver);
    const window = new Float64Array(Math.floor((last - first) / stride) + 1);
    for (let w = 0; w < window.length; w++) window[w] = values[first + w * stride]!;
    window.sort();
    if (x - up(window[window.length >> 1]!) > APART * standard[i]!) highest = reach;
  }
  return highest;
}

/** One tail's values as they would be without noise; appended to `candidates` (indices) and `shrunk` (values). */
function drawIn(
  values: Float64Array,
  side: number,
  mean: number,
  spread: number,
  ownVariance: number,
  candidates: number[],
  shrunk: number[],
): void {
  const far = normalQuantile(1 - 0.025 / values.length) * Math.sqrt(spread);
  const tail: number[] = [];
  let within = 0;
  let second = 0;
  let fourth = 0;
  for (let i = 0; i < values.length; i++) {
    const x = side * (values[i]! - mean);
    if (!(x > 0)) continue;
    tail.push(i);
    if (x > far) continue;
    within++;
    second += x * x;
    fourth += x ** 4;
  }
  if (tail.length === 0) {
    // All equal: the first value stands for all.
    candidates.push(0);
    shrunk.push(values[0]!);
    return;
  }
  tail.sort((a, b) => side * (values[b]! - values[a]!));
  const variance = within > 0 ? second / within : spread;
  const true_ = Math.max(variance - ownVariance, 1e-3 * variance, 1e-300);
  // Excess kurtosis of the true values: noise adds variance, but no excess.
  const excess = within > 1 ? ((fourth * within) / second ** 2 - 3) * (variance / true_) ** 2 : 0;
  const least = 0.25 / tail.length;
  const distance = tailOf(true_, 3 + excess, least);
  tail.forEach((i, rank) => {
    const x = side * (values[i]! - mean);
    candidates.push(i);
    shrunk.push(mean + side * (x > far ? x : Math.min(x, distance((rank + 0.5) / tail.length))));
  });
}
