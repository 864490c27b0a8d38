const HALF_LOG_2PI = 0.5 * Math.log(2 * Math.PI);

/**
 * How far Stirling's formula falls short: lnΓ(x + 1) − [½·ln(2πx) + x·ln x − x], for x > 0. Small and free of cancellation for large x.
 * Source: Abramowitz and Stegun, "Handbook of Mathematical Functions", 1964, 6.1.41; Loader, "Fast and accurate computation of binomial probabilities", 2000.
 */
export function stirlingError(x: number): number {
  if (x < 10) {
    // Raised to where the series is exact: lnΓ(x+1) = lnΓ(x+1+n) − Σ ln(x+i).
    let product = 1;
    let y = x;
    while (y < 10) {
      y += 1;
      product *= y;
    }
    const logGammaNext = HALF_LOG_2PI + (y + 0.5) * Math.log(y) - y + stirlingError(y) - Math.log(product);
    return logGammaNext - (HALF_LOG_2PI + (x + 0.5) * Math.log(x) - x);
  }
  const r = 1 / (x * x);
  return (1 / 12 - r * (1 / 360 - r * (1 / 1260 - r * (1 / 1680 - r * (1 / 1188 - r * (691 / 360360 - r / 156)))))) / x;
}

/**
 * Natural logarithm of the gamma function, x > 0.
 * @throws RangeError  x is not positive
 */
export function logGamma(x: number): number {
  if (!(x > 0)) throw new RangeError(`logGamma: x must be positive; got ${x}`);
  return HALF_LOG_2PI + (x + 0.5) * Math.log(x) - x + stirlingError(x) - Math.log(x);
}

/**
 * x·ln(x/m) + m − x without cancellation where x is close to m: the exponent of Poisson, gamma, binomial and beta densities.
 * Source: Loader 2000 (the deviance part).
 */
export function deviancePart(x: number, m: number): number {
  const v = (x - m) / (x + m);
  if (Math.abs(v) < 0.1) {
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
