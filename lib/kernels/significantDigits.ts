/** Powers of ten that are whole numbers of a double. */
const POWERS: StaticArray<f64> = [
  1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
  1e21, 1e22,
];

/**
 * Values rounded to so many significant digits, at most 12: the doubles nearest to those decimals, since a quotient or a product of two whole numbers is rounded once.
 * NaN where this cannot be told: halfway between two decimals but for the rounding of the product, or where the power of ten is no whole number; also of what is no number.
 */
export function significantDigits(values: Float64Array, digits: i32): Float64Array {
  const rounded = new Float64Array(values.length);
  const most = POWERS[digits];
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    const size = abs<f64>(value);
    if (size === 0) continue;
    let place = digits - 1 - <i32>floor<f64>(Math.log(size) * Math.LOG10E);
    // The logarithm's own rounding, next to a power of ten.
    if (abs(place) < POWERS.length && scaled(size, place) >= most) place--;
    rounded[i] = NaN;
    if (abs(place) >= POWERS.length) continue;
    const exact = scaled(size, place);
    const whole = floor<f64>(exact + 0.5);
    if (!(exact + 0.5 - whole > 1e-3 && whole + 0.5 - exact > 1e-3)) continue;
    const decimal = place < 0 ? whole * POWERS[-place] : whole / POWERS[place];
    rounded[i] = value < 0 ? -decimal : decimal;
  }
  return rounded;
}

function scaled(size: f64, place: i32): f64 {
  return place < 0 ? size / POWERS[-place] : size * POWERS[place];
}
