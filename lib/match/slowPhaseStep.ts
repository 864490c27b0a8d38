import { normalQuantile } from "../signal/distributions.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { FALSE_ALARM } from "./context.ts";
import { type PhaseStep, wrap } from "./phaseSteps.ts";

/** Places tried along the record. */
const PLACES = 1024;

/**
 * A jump of phase in a record of few cycles, where no block holds a whole one: likelihood ratio for a step of phase at each place, with the columns of the fit
 * {cos, sin, 1, time·derivative} projected out (METHODS §6). One jump at most.
 * Threshold: for M = 4096 white readings 14.8 is passed by one clean record in a hundred at some place; the statistic falls off as a
 * chi-square with one degree of freedom, so that FALSE_ALARM asks for 2·ln(0.01/FALSE_ALARM) more.
 */
export function slowPhaseStep(codes: Int32Array, fit: SineFit): PhaseStep | null {
  const readings = codes.length;
  if (readings < 24) return null;
  const length = Math.max(1, Math.floor(readings / PLACES));
  const count = Math.floor(readings / length);
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  const half = readings / 2;
  // Columns c, s, 1, u·d; step column d (the derivative of the model with phase, in codes). Sums of each with each, block by block.
  const width = 4;
  const G = new Float64Array(width * width);
  const dCol = new Float64Array(count * width);
  const dd = new Float64Array(count);
  const dr = new Float64Array(count);
  const g = new Float64Array(width);
  const x = new Float64Array(width);
  let rr = 0;
  for (let b = 0; b < count; b++) {
    for (let n = b * length; n < (b + 1) * length; n++) {
      const theta = omega * n + fit.phase;
      const c = Math.cos(theta);
      const s = Math.sin(theta);
      const d = -fit.amplitude * s;
      const r = codes[n]! - fit.offset - fit.amplitude * c;
      x[0] = c;
      x[1] = s;
      x[2] = 1;
      x[3] = ((n - half) / half) * d;
      for (let i = 0; i < width; i++) {
        for (let j = 0; j < width; j++) G[i * width + j]! += x[i]! * x[j]!;
        dCol[b * width + i]! += d * x[i]!;
        g[i]! += x[i]! * r;
      }
      dd[b]! += d * d;
      dr[b]! += d * r;
      rr += r * r;
    }
  }
  const solvedR = symmetricSolve(G, g);
  if (solvedR === null) return null;
  const threshold = 14.8 + 2 * Math.log(0.01 / FALSE_ALARM) + 2 * Math.log(Math.max(1, readings / 4096));
  let best = { stat: 0, b: -1, step: 0, variance: 0 };
  const v = new Float64Array(width);
  let hh = 0;
  let hr = 0;
  for (let b = count - 1; b > 0; b--) {
    for (let i = 0; i < width; i++) v[i]! += dCol[b * width + i]!;
    hh += dd[b]!;
    hr += dr[b]!;
    const solved = symmetricSolve(G, v);
    if (solved === null) continue;
    let den = hh;
    let num = hr;
    for (let i = 0; i < width; i++) {
      den -= v[i]! * solved.x[i]!;
      num -= solved.x[i]! * g[i]!;
    }
    if (!(den > 1e-9 * hh)) continue;
    // The step's own share of the residual is no noise.
    const sigma2 = Math.max((rr - (num * num) / den) / Math.max(1, readings - 6), 1 / 12);
    const stat = (num * num) / den / sigma2;
    if (stat > best.stat) best = { stat, b, step: num / den, variance: sigma2 / den };
  }
  if (best.stat < threshold) return null;
  const at = best.b * length;
  if (Math.abs(best.step) < 0.3) return { at, within: length, step: best.step, standard: Math.sqrt(best.variance) };
  return (
    largeStep(codes, fit, at, length) ?? {
      at,
      within: length,
      step: wrap(best.step),
      standard: Math.sqrt(best.variance),
    }
  );
}

/** A jump too large for the linear step: both sides fitted each on its own, the place moved to where they hand over best. */
function largeStep(codes: Int32Array, fit: SineFit, start: number, length: number): PhaseStep | null {
  let at = start;
  for (let round = 0; round < 3; round++) {
    if (at < 8 || at > codes.length - 8) return null;
    const before = fitSine(codes, { first: 0, last: at - 1 - Math.min(length, 2), frequency: fit.cyclesPerReading });
    const after = fitSine(codes, {
      first: at + Math.min(length, 2),
      last: codes.length - 1,
      frequency: fit.cyclesPerReading,
    });
    if (before === null || after === null) return null;
    const value = (f: SineFit, n: number): number =>
      f.offset + f.amplitude * Math.cos(2 * Math.PI * f.cyclesPerReading * n + f.phase);
    let misfit = 0;
    for (let n = 0; n < codes.length; n++) misfit += (codes[n]! - value(after, n)) ** 2;
    let least = misfit;
    let place = 0;
    for (let n = 0; n < codes.length; n++) {
      misfit += (codes[n]! - value(before, n)) ** 2 - (codes[n]! - value(after, n)) ** 2;
      if (misfit < least) {
        least = misfit;
        place = n + 1;
      }
    }
    const phaseAt = (f: SineFit): number => 2 * Math.PI * f.cyclesPerReading * place + f.phase;
    const standard =
      Math.hypot(before.residualRms / before.amplitude, after.residualRms / after.amplitude) *
      Math.sqrt(8 / codes.length);
    const step = wrap(phaseAt(after) - phaseAt(before));
    if (place === at || round === 2) return { at: place, within: 2, step, standard };
    at = place;
  }
  return null;
}

/** Two-sided normal quantile for FALSE_ALARM over `tests` independent looks. */
export function highest(tests: number): number {
  return -normalQuantile(FALSE_ALARM / (2 * Math.max(1, tests)));
}
