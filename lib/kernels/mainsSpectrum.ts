/** Values under a Hann window of mean one. */
export function hannWindowed(values: Float64Array): Float64Array {
  const n = values.length;
  const windowed = new Float64Array(n);
  for (let i = 0; i < n; i++) windowed[i] = values[i] * (1 - Math.cos((2 * Math.PI * i) / n));
  return windowed;
}

/** Squared amplitude of a line in each bin, of the bins of n windowed values: a line of amplitude a has |X| = a·n/2. */
export function linePowers(re: Float64Array, im: Float64Array, n: f64): Float64Array {
  const power = new Float64Array(re.length);
  for (let k = 0; k < power.length; k++) power[k] = ((re[k] * re[k] + im[k] * im[k]) * 4) / (n * n);
  return power;
}

/** Takes the least-squares line off evenly spaced values. */
export function lineTakenOff(values: Float64Array): Float64Array {
  const n: f64 = values.length;
  let mean: f64 = 0;
  let sxy: f64 = 0;
  const middle = (n - 1) / 2;
  for (let i = 0; i < values.length; i++) {
    mean += values[i] / n;
    sxy += (i - middle) * values[i];
  }
  const slope = sxy / ((n * (n * n - 1)) / 12);
  for (let i = 0; i < values.length; i++) values[i] -= mean + slope * (i - middle);
  return values;
}
