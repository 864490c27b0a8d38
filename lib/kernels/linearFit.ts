/** Sums of an ordinary least-squares line: see fitLine in lib/signal/linearFit.ts. */
export class LineSums {
  meanX: f64 = 0;
  meanY: f64 = 0;
  sxx: f64 = 0;
  syy: f64 = 0;
  slope: f64 = 0;
  /** Of the residual. */
  rss: f64 = 0;
}

/** Both axes are centred first, so that x far from zero costs no digits. */
export function lineSums(x: Float64Array, y: Float64Array): LineSums {
  const n = x.length;
  let sumX: f64 = 0;
  let sumY: f64 = 0;
  for (let i = 0; i < n; i++) {
    sumX += x[i];
    sumY += y[i];
  }
  let meanX = sumX / n;
  let meanY = sumY / n;
  // A second round takes off what rounding left in the means.
  let leftX: f64 = 0;
  let leftY: f64 = 0;
  for (let i = 0; i < n; i++) {
    leftX += x[i] - meanX;
    leftY += y[i] - meanY;
  }
  meanX += leftX / n;
  meanY += leftY / n;
  let sxx: f64 = 0;
  let sxy: f64 = 0;
  let syy: f64 = 0;
  for (let i = 0; i < n; i++) {
    const dx = x[i] - meanX;
    const dy = y[i] - meanY;
    sxx += dx * dx;
    sxy += dx * dy;
    syy += dy * dy;
  }
  const slope = sxy / sxx;
  let rss: f64 = 0;
  for (let i = 0; i < n; i++) {
    const r = y[i] - meanY - slope * (x[i] - meanX);
    rss += r * r;
  }
  return { meanX, meanY, sxx, syy, slope, rss };
}
