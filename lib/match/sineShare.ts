/** 1 − R² of a three-parameter sine at c cycles per reading. */
export function sineShare(
  codes: Int32Array,
  values: Float64Array,
  count: number,
  c: number,
  use: (code: number) => boolean,
): number {
  const omega = 2 * Math.PI * c;
  let n = 0;
  let sc = 0;
  let ss = 0;
  let scc = 0;
  let scs = 0;
  let sy = 0;
  let syy = 0;
  let syc = 0;
  let sys = 0;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  let x = 1;
  let z = 0;
  const shift = values[0]!;
  for (let i = 0; i < count; i++) {
    if (use(codes[i]!)) {
      const y = values[i]! - shift;
      n++;
      sc += x;
      ss += z;
      scc += x * x;
      scs += x * z;
      sy += y;
      syy += y * y;
      syc += y * x;
      sys += y * z;
    }
    const next = x * stepC - z * stepS;
    z = z * stepC + x * stepS;
    x = next;
  }
  const cc = scc - (sc * sc) / n;
  const cs = scs - (sc * ss) / n;
  const sq = n - scc - (ss * ss) / n;
  const yc = syc - (sy * sc) / n;
  const ys = sys - (sy * ss) / n;
  const yy = syy - (sy * sy) / n;
  const det = cc * sq - cs * cs;
  if (!(yy > 0) || !(det > 1e-9 * n * n)) return 1;
  const a = (yc * sq - ys * cs) / det;
  const b = (ys * cc - yc * cs) / det;
  return Math.max(0, 1 - (a * yc + b * ys) / yy);
}
