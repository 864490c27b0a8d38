import { BLOCK, Sine } from "./alongSine";

/** Products of what a sine leaves of readings, y, with its cosine part c and its quadrature s, which is a quarter turn ahead. */
export class BlockProducts {
  n: f64 = 0;
  y: f64 = 0;
  yy: f64 = 0;
  yc: f64 = 0;
  ys: f64 = 0;
  c: f64 = 0;
  s: f64 = 0;
  cc: f64 = 0;
  ss: f64 = 0;
}

/**
 * Adds readings `first` on to the sums.
 * @param lowest, highest  codes strictly between them are used, others (and NaN) left out
 */
export function addBlockProducts(
  sums: BlockProducts,
  codes: Float64Array,
  sine: Sine,
  first: f64,
  lowest: f64,
  highest: f64,
): BlockProducts {
  const stepC = Math.cos(2 * Math.PI * sine.cyclesPerReading);
  const stepS = Math.sin(2 * Math.PI * sine.cyclesPerReading);
  const amplitude = sine.amplitude;
  const offset = sine.offset;
  let n = sums.n;
  let sy = sums.y;
  let syy = sums.yy;
  let syc = sums.yc;
  let sys = sums.ys;
  let sc = sums.c;
  let ss = sums.s;
  let scc = sums.cc;
  let sss = sums.ss;
  // Cosine and sine are set anew now and then, so that rounding does not grow.
  for (let start = 0; start < codes.length; start += BLOCK) {
    const end = min(codes.length, start + BLOCK);
    const turns = sine.cyclesPerReading * (first + start);
    const theta = 2 * Math.PI * (turns - floor<f64>(turns)) + sine.phase;
    let c = amplitude * Math.cos(theta);
    let s = -amplitude * Math.sin(theta);
    for (let i = start; i < end; i++) {
      const code = unchecked(codes[i]);
      if (code > lowest && code < highest) {
        const y = code - offset - c;
        n++;
        sy += y;
        syy += y * y;
        syc += y * c;
        sys += y * s;
        sc += c;
        ss += s;
        scc += c * c;
        sss += s * s;
      }
      const turned = c * stepC + s * stepS;
      s = s * stepC - c * stepS;
      c = turned;
    }
  }
  sums.n = n;
  sums.y = sy;
  sums.yy = syy;
  sums.yc = syc;
  sums.ys = sys;
  sums.c = sc;
  sums.s = ss;
  sums.cc = scc;
  sums.ss = sss;
  return sums;
}
