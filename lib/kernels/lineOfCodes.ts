/** Running means and sums of products about them: a least-squares line of codes, gathered part by part. */
export class LineSums {
  count: f64 = 0;
  meanX: f64 = 0;
  meanY: f64 = 0;
  sxx: f64 = 0;
  sxy: f64 = 0;
}

/**
 * Adds codes strictly between floor and ceiling. Source: Welford, Technometrics 4, 1962.
 * @param x      what the codes stand against, left out where not finite; none where that is the number of the reading
 * @param first  reading of the first code
 */
export function addToLine(
  sums: LineSums,
  codes: Int32Array,
  x: Float64Array,
  first: f64,
  floor: f64,
  ceiling: f64,
): LineSums {
  for (let i = 0; i < codes.length; i++) {
    const y: f64 = codes[i];
    const v = x.length > 0 ? x[i] : first + i;
    if (!(y > floor && y < ceiling) || !Number.isFinite(v)) continue;
    sums.count++;
    const dx = v - sums.meanX;
    sums.meanX += dx / sums.count;
    sums.meanY += (y - sums.meanY) / sums.count;
    sums.sxx += dx * (v - sums.meanX);
    sums.sxy += dx * (y - sums.meanY);
  }
  return sums;
}
