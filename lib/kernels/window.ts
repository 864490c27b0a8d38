export class CosineWindow {
  values: Float64Array = new Float64Array(0);
  /** Σ w and Σ w². */
  sum: f64 = 0;
  squares: f64 = 0;
}

/** w[n] = Σ (−1)ᵏ·c[k]·cos(2πkn/N), by the recurrence cos((k+1)x) = 2·cos x·cos kx − cos((k−1)x). */
export function cosineWindow(coefficients: Float64Array, length: i32): CosineWindow {
  const window = new CosineWindow();
  const values = new Float64Array(length);
  for (let n = 0; n < length; n++) {
    const x = Math.cos((2 * Math.PI * <f64>n) / length);
    let before = x;
    let now: f64 = 1;
    let w: f64 = 0;
    let sign: f64 = 1;
    for (let k = 0; k < coefficients.length; k++) {
      w += sign * coefficients[k] * now;
      sign = -sign;
      const next = 2 * x * now - before;
      before = now;
      now = next;
    }
    values[n] = w;
    window.sum += w;
    window.squares += w * w;
  }
  window.values = values;
  return window;
}
