/** Mean and spread of a run of values. */
export interface Description {
  readonly count: number;
  readonly mean: number;
  /** √(Σ(x − mean)²/(n − 1)); 0 for a single value. */
  readonly sd: number;
  readonly min: number;
  readonly max: number;
}

/**
 * Mean, standard deviation and extremes in two passes: the sum of squares is taken about the mean, so that values far from zero keep their
 * digits.
 * @param values  at least one
 * @param first   first and last index to use, both included; default all
 * @throws RangeError  no values
 * Source: Chan, Golub and LeVeque, "Algorithms for computing the sample variance", Amer. Statist. 37(3), 1983 (corrected two-pass); checked
 *   with NIST StRD.
 * @example describeValues([1, 2, 3]).sd // 1
 */
export function describeValues(values: ArrayLike<number>, first = 0, last = values.length - 1): Description {
  const count = last - first + 1;
  if (!(count >= 1)) throw new RangeError(`describeValues: requires at least 1 value; got ${count}`);
  let sum = 0;
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  for (let i = first; i <= last; i++) {
    const x = values[i]!;
    sum += x;
    if (x < min) min = x;
    if (x > max) max = x;
  }
  const rough = sum / count;
  // What rounding left in the mean comes out as the mean of the deviations.
  let left = 0;
  let squares = 0;
  for (let i = first; i <= last; i++) {
    const d = values[i]! - rough;
    left += d;
    squares += d * d;
  }
  const spread = Math.max(0, squares - (left * left) / count);
  return { count, mean: rough + left / count, sd: count > 1 ? Math.sqrt(spread / (count - 1)) : 0, min, max };
}

/**
 * Autocorrelation of values with those `lag` later: r = Σ(x[i] − m)(x[i+lag] − m)/Σ(x[i] − m)².
 * @returns −1…1; 0 when all values are equal, since nothing then varies together
 * @throws RangeError  lag is not a whole number from 1 to n − 1
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12; checked with NIST StRD.
 */
export function autocorrelation(values: ArrayLike<number>, lag = 1): number {
  const n = values.length;
  if (!(Number.isInteger(lag) && lag >= 1 && lag < n))
    throw new RangeError(`autocorrelation: lag must be a whole number from 1 to ${n - 1}; got ${lag}`);
  const { mean } = describeValues(values);
  let together = 0;
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const d = values[i]! - mean;
    squares += d * d;
    if (i + lag < n) together += d * (values[i + lag]! - mean);
  }
  return squares > 0 ? together / squares : 0;
}
