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
}

/**
 * Estimates the extreme of a curve with its own noise in each code. The largest measured value is biased away from zero: of thousands of codes the one that
 * noise lifted most is picked.
 *
 * Where the noise s is at most half of the values' spread sd: values are drawn towards their mean until their variance is that of true values (outliers are left
 * alone), draws of the record's errors are added, and the mean excess of the extreme is taken off; half-width 2·hypot(sd of that excess, 0.6·s·√(1 − s²/sd²)).
 * Otherwise the simultaneous interval [max − z_B·s, max + 1.96·s], z_B = Φ⁻¹(1 − 0.025/K): safe and wide.
 *
 * Call `add` with draws of the errors of the whole curve (so that what is correlated stays so), then `result`.
 * Source: METHODS 5, tried against simulated converters; Blair, IEEE T-IM 43(3), 1994, for the need of a family-wise level.
 */
export class ExtremeEstimator {
  private readonly curve: NoisyCurve;
  private readonly shrunk: Float64Array;
  private readonly kept: number;
  private readonly spread: number;
  private readonly index: number;
  private readonly shrunkTop: number;
  private readonly zBonferroni: number;
  private draws = 0;
  private sum = 0;
  private squares = 0;

  /** @throws RangeError  no values */
  constructor(curve: NoisyCurve) {
    const { values, ownVariance } = curve;
    const count = values.length;
    if (count === 0) throw new RangeError("ExtremeEstimator: requires at least 1 value; got 0");
    this.curve = curve;
    let mean = 0;
    for (const x of values) mean += x / count;
    let spread = 0;
    for (const x of values) spread += (x - mean) ** 2 / count;
    this.spread = spread;
    this.zBonferroni = normalQuantile(1 - 0.025 / count);
    this.kept = spread > 0 ? Math.sqrt(Math.max(0, 1 - ownVariance / spread)) : 0;
    const far = this.zBonferroni * Math.sqrt(spread);
    this.shrunk = values.map((x) => (Math.abs(x - mean) > far ? x : mean + this.kept * (x - mean)));
    this.index = this.topOf(values).index;
    this.shrunkTop = this.topOf(this.shrunk).top;
  }

  private up(x: number): number {
    return this.curve.sign === 0 ? Math.abs(x) : this.curve.sign * x;
  }

  private topOf(values: Float64Array): { top: number; index: number } {
    let index = 0;
    for (let i = 1; i < values.length; i++) if (this.up(values[i]!) > this.up(values[index]!)) index = i;
    return { top: this.up(values[index]!), index };
  }

  /** One draw of the errors of all values. */
  add(errors: Float64Array): void {
    const { shrunk } = this;
    const { sign } = this.curve;
    let top = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < shrunk.length; i++) {
      const x = shrunk[i]! + errors[i]!;
      const up = sign === 1 ? x : sign === -1 ? -x : Math.abs(x);
      if (up > top) top = up;
    }
    const excess = top - this.shrunkTop;
    this.draws++;
    this.sum += excess;
    this.squares += excess * excess;
  }

  result(): Extreme {
    const { values, standard, ownVariance, sign, atLeast } = this.curve;
    const { index, spread, kept } = this;
    const top = this.up(values[index]!);
    const floor = sign === -1 ? -atLeast : atLeast;
    const signed = (value: number, low: number, high: number, route: Extreme["route"]): Extreme =>
      sign === -1 ? { value: -value, low: -high, high: -low, index, route } : { value, low, high, index, route };
    if (ownVariance === 0) return signed(top, top, top, "exact");
    const draws = Math.max(1, this.draws);
    const excess = this.sum / draws;
    const scatter = Math.sqrt(Math.max(0, this.squares / draws - excess * excess));
    const value = Math.max(floor, top - excess);
    if (4 * ownVariance <= spread) {
      const half = 2 * Math.hypot(scatter, 0.6 * Math.sqrt(ownVariance) * kept);
      return signed(value, Math.max(floor, value - half), value + half, "shrinkage");
    }
    // The lower end may come from any code: the one whose own lower bound is highest.
    let low = floor;
    let high = floor;
    for (let i = 0; i < values.length; i++) {
      const x = this.up(values[i]!);
      low = Math.max(low, x - this.zBonferroni * standard[i]!);
      high = Math.max(high, x + 1.96 * standard[i]!);
    }
    return signed(Math.min(high, Math.max(low, value)), low, high, "simultaneous");
  }
}
