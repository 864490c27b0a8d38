/** offset + factor·x of each value. */
export function onLine(values: Float64Array, offset: f64, factor: f64): Float64Array {
  const results = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) unchecked((results[i] = offset + factor * values[i]));
  return results;
}

/** start, and start with the first one, two, … values added: one element more than there are values. */
export function runningSums(values: Float64Array, start: f64): Float64Array {
  const sums = new Float64Array(values.length + 1);
  let sum = start;
  unchecked((sums[0] = sum));
  for (let i = 0; i < values.length; i++) {
    sum += unchecked(values[i]);
    unchecked((sums[i + 1] = sum));
  }
  return sums;
}
