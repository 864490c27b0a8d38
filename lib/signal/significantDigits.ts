import { kernels } from "../kernels/kernels.generated.js";

/**
 * Values rounded to so many significant digits, as they stand in a file: null where there is no number.
 * @param digits  at most 12
 * @example significantDigits([2 / 3, Number.NaN], 2) // [0.67, null]
 */
export function significantDigits(values: ArrayLike<number | null>, digits: number): (number | null)[] {
  // A null among them becomes 0 here, and null again below.
  const numbers = values instanceof Float64Array ? values : new Float64Array(values as ArrayLike<number>);
  const rounded = kernels.significantDigits(numbers, digits);
  const listed: (number | null)[] = [];
  for (let i = 0; i < rounded.length; i++) {
    const value = rounded[i]!;
    listed.push(values[i] === null ? null : Number.isNaN(value) ? byText(numbers[i]!, digits) : value);
  }
  return listed;
}

/** Where only exact decimals can tell. */
function byText(value: number, digits: number): number | null {
  return Number.isFinite(value) ? Number(value.toPrecision(digits)) : null;
}
