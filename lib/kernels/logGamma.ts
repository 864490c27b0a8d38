const HALF_LOG_2PI: f64 = 0.5 * Math.log(2 * Math.PI);

/**
 * How far Stirling's formula falls short: lnΓ(x + 1) − [½·ln(2πx) + x·ln x − x], for x > 0. Small and free of cancellation for large x.
 * Source: Abramowitz and Stegun, "Handbook of Mathematical Functions", 1964, 6.1.41; Loader, "Fast and accurate computation of binomial probabilities", 2000.
 */
export function stirlingError(x: f64): f64 {
  if (x < 10) {
    // Raised to where the series is exact: lnΓ(x+1) = lnΓ(x+1+n) − Σ ln(x+i).
    let product: f64 = 1;
    let y = x;
    while (y < 10) {
      y += 1;
      product *= y;
    }
    const logGammaNext = HALF_LOG_2PI + (y + 0.5) * Math.log(y) - y + stirlingError(y) - Math.log(product);
    return logGammaNext - (HALF_LOG_2PI + (x + 0.5) * Math.log(x) - x);
  }
  const r = 1 / (x * x);
  return (
    (1.0 / 12 -
      r * (1.0 / 360 - r * (1.0 / 1260 - r * (1.0 / 1680 - r * (1.0 / 1188 - r * (691.0 / 360360 - r / 156)))))) /
    x
  );
}

/** Natural logarithm of the gamma function, x > 0. */
export function logGamma(x: f64): f64 {
  return HALF_LOG_2PI + (x + 0.5) * Math.log(x) - x + stirlingError(x) - Math.log(x);
}

/**
 * x·ln(x/m) + m − x without cancellation where x is close to m: the exponent of Poisson, gamma, binomial and beta densities.
 * Source: Loader 2000 (the deviance part).
 */
export function deviancePart(x: f64, m: f64): f64 {
  const v = (x - m) / (x + m);
  if (abs<f64>(v) < 0.1) {
    // ln(x/m) = 2·atanh v, of which the first terms cancel against m − x in closed form.
    let sum = (x - m) * v;
    let term = 2 * x * v;
    for (let j = 1; j < 100; j++) {
      term *= v * v;
      const next = sum + term / (2 * j + 1);
      if (next === sum) return sum;
      sum = next;
    }
    return sum;
  }
  return x * Math.log(x / m) + m - x;
}
