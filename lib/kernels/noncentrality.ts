/** See lineFactors in lib/measure/toneInterval.ts: λ for which `seen` stands z standard deviations up; 0 when even λ = 0 stands lower. */
export function noncentrality(seen: f64, k: f64, dof: f64, z: f64): f64 {
  if (standing(seen, k, 0, dof) <= z) return 0;
  let low: f64 = 0;
  let high: f64 = seen + k + 10;
  while (standing(seen, k, high, dof) > z) high *= 2;
  for (let i = 0; i < 100 && high - low > 1e-10 * high; i++) {
    const middle = (low + high) / 2;
    if (standing(seen, k, middle, dof) > z) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Where x stands in χ²(k, λ), in standard deviations, the unit of x known from `dof` degrees of freedom only. */
function standing(x: f64, k: f64, lambda: f64, dof: f64): f64 {
  const h = 1 - (2 * (k + lambda) * (k + 3 * lambda)) / (3 * (k + 2 * lambda) ** 2);
  const p = (k + 2 * lambda) / (k + lambda) ** 2;
  const m = (h - 1) * (1 - 3 * h);
  const mean = 1 + h * p * (h - 1 - 0.5 * (2 - h) * m * p);
  const sd = h * sqrt<f64>(2 * p) * (1 + 0.5 * m * p);
  const power = (x / (k + lambda)) ** h;
  // The unit's own scatter, √(2/dof), acts on the share of x that is noise; with λ = 0 and h = 1/3 this is Paulson's approximation of F.
  const noise = k / (k + lambda);
  const bias = ((2 * h) / (3 * dof)) * noise;
  return (power * (1 - bias) - mean) / Math.hypot(sd, power * h * noise * sqrt<f64>(2 / dof));
}
