import { Solution, symmetricSolve } from "./symmetricSolve";

/** A triangle fitted to readings: see lib/signal/triangleFit.ts. */
export class TriangleFit {
  frequency: f64 = 0;
  start: f64 = 0;
  startStandard: f64 = 0;
  offset: f64 = 0;
  amplitude: f64 = 0;
  offsetStandard: f64 = 0;
  amplitudeStandard: f64 = 0;
  residualRms: f64 = 0;
}

/** Where a fit of a triangle begins. */
export class TriangleStart {
  frequency: f64 = 0;
  turnAtCentre: f64 = 0;
  offset: f64 = 0;
  amplitude: f64 = 0;
  /** Whether the frequency stays. */
  fixed: bool = false;
}

/**
 * Gauss-Newton on offset, amplitude, turn and frequency.
 * @param codes  blocks of `block` readings, the last one maybe shorter, each `stride` readings after the one before
 * @param first, last  readings of the stretch that they are taken from
 * @param floor, ceiling  codes strictly between which readings count
 * @param trimmed  standard deviations from which on readings are left out
 */
export function refineTriangle(
  codes: Int32Array,
  block: i32,
  stride: f64,
  first: f64,
  last: f64,
  begin: TriangleStart,
  floorCode: f64,
  ceilingCode: f64,
  trimmed: f64,
): TriangleFit | null {
  const fixed = begin.fixed;
  const centre = (first + last) / 2;
  const half = (last - first) / 2;
  let f = begin.frequency;
  let turnAtCentre = begin.turnAtCentre;
  let offset = begin.offset;
  let amplitude = begin.amplitude;
  const p = fixed ? 3 : 4;
  const row = new Float64Array(p);
  // Readings far from the triangle are errors (a wrong high bit) and would pull at it; the scatter that tells them is the last pass's.
  let limit = Infinity;
  for (let pass = 0; pass < 25; pass++) {
    const H = new Float64Array(p * p);
    const g = new Float64Array(p);
    let rss: f64 = 0;
    let used: f64 = 0;
    for (let i = 0; i < codes.length; i++) {
      const code: f64 = codes[i];
      if (code <= floorCode || code >= ceilingCode) continue;
      const n = first + stride * (i / block) + (i % block);
      const x = f * (n - centre) + turnAtCentre;
      const turn = x - floor<f64>(x);
      const rising = turn < 0.5;
      const w = rising ? 4 * turn - 1 : 3 - 4 * turn;
      const residual = code - offset - amplitude * w;
      if (abs<f64>(residual) > limit) continue;
      const steep = rising ? 4 * amplitude : -4 * amplitude;
      row[0] = 1;
      row[1] = w;
      row[2] = steep;
      if (!fixed) row[3] = (steep * (n - centre)) / half;
      for (let k = 0; k < p; k++) {
        g[k] += row[k] * residual;
        for (let j = 0; j <= k; j++) H[k * p + j] += row[k] * row[j];
      }
      rss += residual * residual;
      used++;
    }
    if (used <= p) return null;
    limit = trimmed * sqrt<f64>(max<f64>(1.0 / 12, rss / used));
    for (let i = 0; i < p; i++) for (let j = i + 1; j < p; j++) H[i * p + j] = H[j * p + i];
    const solved = symmetricSolve(H, g);
    if (solved === null) return null;
    const step = solved.x;
    const turnStep = max<f64>(-0.1, min<f64>(0.1, step[2]));
    const frequencyStep: f64 = fixed ? 0 : max<f64>(-0.1, min<f64>(0.1, step[3])) / half;
    offset += step[0];
    amplitude += step[1];
    turnAtCentre += turnStep;
    f += frequencyStep;
    if (amplitude < 0) {
      amplitude = -amplitude;
      turnAtCentre += 0.5;
    }
    if (abs<f64>(turnStep) < 1e-9 && abs<f64>(frequencyStep) * half < 1e-9 && pass > 0) {
      const fit = fitted(solved, p, rss / (used - p), fixed ? 0 : centre / half);
      const start = turnAtCentre - f * centre;
      fit.frequency = f;
      fit.start = start - floor<f64>(start);
      fit.offset = offset;
      fit.amplitude = amplitude;
      return fit;
    }
  }
  return null;
}

/** The uncertainties. start = turn at the centre − frequency·centre; the two are nearly uncorrelated about the centre. */
function fitted(solved: Solution, p: i32, variance: f64, lever: f64): TriangleFit {
  const fit = new TriangleFit();
  const inverse = solved.inverse;
  const ofFrequency: f64 = p === 4 ? inverse[3 * p + 3] : 0;
  fit.startStandard = sqrt<f64>(variance * (inverse[2 * p + 2] + lever * lever * ofFrequency));
  fit.offsetStandard = sqrt<f64>(variance * inverse[0]);
  fit.amplitudeStandard = sqrt<f64>(variance * inverse[p + 1]);
  fit.residualRms = sqrt<f64>(variance);
  return fit;
}
