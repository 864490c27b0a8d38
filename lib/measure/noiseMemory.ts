import { Z95 } from "../signal/coverage.ts";
import { normalCdf, standardDeviationFactors } from "../signal/distributions.ts";

/** What a series with memory leaves open. Half-widths at 95 % about the plain mean, slope and variance of the series. */
export interface NoiseMemory {
  readonly mean: number;
  /** Per reading of the series. */
  readonly slope: number;
  /** Degrees of freedom of a variance whose interval reaches as far up as this one's. */
  readonly varianceDof: number;
}

/** Memory lengths tried, in readings, from hardly any to twice the record. */
const LENGTHS = 28;
const SHORTEST = 0.3;
/** Shares of the variance that have no memory: quantisation adds some to any noise. */
const WHITE = [0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8] as const;

interface Component {
  readonly weight: number;
  readonly mean: number;
  readonly meanSd: number;
  readonly slope: number;
  readonly slopeSd: number;
  readonly logVariance: number;
  readonly logVarianceSd: number;
}

/**
 * Intervals of mean, slope and variance of a steady series whose readings remember each other, where the length of that memory is itself hardly known: a line plus
 * noise that decays from reading to reading plus white noise. The restricted likelihood of each memory length (alike a priori on a logarithmic scale) weighs
 * what a record of such noise would say; taking out the line costs short records no memory, as it does in plain autocorrelations.
 * @param series  steady readings in order, at most a few thousand, at least 8
 * Source: Harvey, "Forecasting, Structural Time Series Models and the Kalman Filter", 1989 (innovations form); Patterson and Thompson, Biometrika 58, 1971
 *   (restricted likelihood); both from memory.
 */
export function noiseMemory(series: Float64Array): NoiseMemory {
  const M = series.length;
  const middle = (M - 1) / 2;
  let mean = 0;
  for (const y of series) mean += y / M;
  let cross = 0;
  for (let n = 0; n < M; n++) cross += (series[n]! - mean) * (n - middle);
  const slope = (12 * cross) / (M * (M * M - 1));
  let squares = 0;
  for (let n = 0; n < M; n++) squares += (series[n]! - mean - slope * (n - middle)) ** 2;
  const variance = squares / M;

  const parts: (Component & { readonly log: number })[] = [];
  for (let i = 0; i < LENGTHS; i++) {
    const length = SHORTEST * ((2 * M) / SHORTEST) ** (i / (LENGTHS - 1));
    for (const white of WHITE) parts.push(component(series, mean, Math.exp(-1 / length), white));
  }
  const best = Math.max(...parts.map((p) => p.log));
  const weighed = parts.map((p) => ({ ...p, weight: Math.exp(p.log - best) })).filter((p) => p.weight > 1e-6);
  const total = weighed.reduce((sum, p) => sum + p.weight, 0);
  const reach = (about: number, at: (c: Component) => readonly [number, number], upOnly = false): number => {
    const chance = (x: number): number =>
      weighed.reduce((sum, c) => {
        const [centre, sd] = at(c);
        return sum + (c.weight / total) * normalCdf((x - centre) / sd);
      }, 0);
    let low = 0;
    let high = Math.max(...weighed.map((c) => Math.abs(at(c)[0] - about) + 8 * at(c)[1]));
    for (let round = 0; round < 40; round++) {
      const half = (low + high) / 2;
      const inside = upOnly ? chance(about + half) - 0.025 : chance(about + half) - chance(about - half);
      if (inside < 0.95) low = half;
      else high = half;
    }
    return high;
  };
  const up = Math.exp(reach(Math.log(variance), (c) => [c.logVariance, c.logVarianceSd], true) / 2);
  return {
    mean: reach(mean, (c) => [c.mean, c.meanSd]),
    slope: reach(slope, (c) => [c.slope, c.slopeSd]),
    varianceDof: dofReaching(up, M),
  };
}

/** One memory length: line and level by generalised least squares, and how likely the record is then. */
function component(series: Float64Array, about: number, rho: number, white: number): Component & { log: number } {
  const M = series.length;
  const middle = (M - 1) / 2;
  // Filters of the readings, of a constant and of a line share one gain; marginal variance is 1.
  let y = 0;
  let one = 0;
  let line = 0;
  let spread = 1 - white;
  let [yy, y1, yt, o1, ot, tt, logs] = [0, 0, 0, 0, 0, 0, 0];
  for (let n = 0; n < M; n++) {
    const s = spread + white;
    const ey = series[n]! - about - y;
    const e1 = 1 - one;
    const et = n - middle - line;
    yy += (ey * ey) / s;
    y1 += (ey * e1) / s;
    yt += (ey * et) / s;
    o1 += (e1 * e1) / s;
    ot += (e1 * et) / s;
    tt += (et * et) / s;
    logs += Math.log(s);
    const gain = spread / s;
    y = rho * (y + gain * ey);
    one = rho * (one + gain * e1);
    line = rho * (line + gain * et);
    spread = rho * rho * spread * (1 - gain) + (1 - rho * rho) * (1 - white);
  }
  const det = o1 * tt - ot * ot;
  const level = (tt * y1 - ot * yt) / det;
  const slope = (o1 * yt - ot * y1) / det;
  const dof = M - 2;
  const rss = Math.max(yy - level * y1 - slope * yt, 1e-300);
  const s2 = rss / dof;
  const t2 = dof / Math.max(1, dof - 2);
  return {
    weight: 0,
    log: -0.5 * (logs + Math.log(det) + dof * Math.log(rss)),
    mean: about + level,
    meanSd: Math.sqrt((s2 * t2 * tt) / det),
    slope,
    slopeSd: Math.sqrt((s2 * t2 * o1) / det),
    logVariance: Math.log(s2),
    logVarianceSd: Math.sqrt(2 / dof),
  };
}

/** Degrees of freedom for which a standard deviation's upper factor is this. */
function dofReaching(up: number, readings: number): number {
  let low = Math.log(0.5);
  let high = Math.log(4 * readings);
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (standardDeviationFactors(Math.exp(middle))[1] > up) low = middle;
    else high = middle;
  }
  return Math.exp(high);
}

/** By what the variance of a mean exceeds that of independent readings, from its half-width. */
export function inflationOf(halfWidth: number, variance: number, readings: number): number {
  return variance > 0 ? Math.max(1, ((halfWidth / Z95) ** 2 * readings) / variance) : 1;
}
