import type { Lsb } from "../bench/units.ts";
import { normalCdf, normalPdf } from "../signal/normal.ts";

/** Codes counted in one block of consecutive readings. */
export interface CountedBlock {
  /** Where the block sits in the record, −½ first … +½ last. */
  readonly position: number;
  /** counts[i] belongs to code firstCode + i. */
  readonly counts: ArrayLike<number>;
}

/** Cells of the quantiser seen by a steady capture, on a scale where an ideal transition k sits at k − ½. */
export interface Cells {
  readonly firstCode: number;
  /** edges[i] and edges[i + 1] bound code firstCode + i; ±Infinity where the range ends. */
  readonly edges: Float64Array;
}

/** The best mean and drift for one σ. */
export interface Profile {
  readonly sigma: Lsb;
  /** Log-likelihood, less half the logarithm of the information on mean and drift: what integrating these two out would leave. */
  readonly logLikelihood: number;
  readonly mean: number;
  /** LSB over the whole record. */
  readonly drift: number;
}

/** Edges of the codes first…last of an ideal converter; the end codes of the range are open. */
export function idealCells(first: number, last: number, topCode: number): Cells {
  const edges = new Float64Array(last - first + 2);
  for (let i = 0; i < edges.length; i++) edges[i] = first + i - 0.5;
  if (first <= 0) edges[0] = Number.NEGATIVE_INFINITY;
  if (last >= topCode) edges[edges.length - 1] = Number.POSITIVE_INFINITY;
  return { firstCode: first, edges };
}

interface Sums {
  readonly value: number;
  readonly gradient: readonly [number, number];
  /** −second derivatives: mean·mean, mean·drift, drift·drift. */
  readonly information: readonly [number, number, number];
}

/** Log-likelihood of the counted codes and its derivatives by mean and drift, at one σ. Each block is Gaussian noise about its own point of a straight line. */
function evaluate(blocks: readonly CountedBlock[], cells: Cells, sigma: number, mean: number, drift: number): Sums {
  const { edges } = cells;
  let value = 0;
  let g0 = 0;
  let g1 = 0;
  let h00 = 0;
  let h01 = 0;
  let h11 = 0;
  for (const { position, counts } of blocks) {
    const centre = mean + drift * position;
    for (let i = 0; i < counts.length; i++) {
      const n = counts[i]!;
      if (n === 0) continue;
      const a = (edges[i]! - centre) / sigma;
      const b = (edges[i + 1]! - centre) / sigma;
      // In the upper tail the difference of two numbers near 1 would lose everything.
      const p = Math.max(1e-300, a > 0 ? normalCdf(-a) - normalCdf(-b) : normalCdf(b) - normalCdf(a));
      const fa = normalPdf(a);
      const fb = normalPdf(b);
      const slope = (fa - fb) / (sigma * p);
      const curve =
        ((Number.isFinite(a) ? a * fa : 0) - (Number.isFinite(b) ? b * fb : 0)) / (sigma * sigma * p) - slope * slope;
      value += n * Math.log(p);
      g0 += n * slope;
      g1 += n * slope * position;
      h00 -= n * curve;
      h01 -= n * curve * position;
      h11 -= n * curve * position * position;
    }
  }
  return { value, gradient: [g0, g1], information: [h00, h01, h11] };
}

/**
 * Maximises the likelihood of grouped (quantised) Gaussian readings over their mean and drift, at a given σ.
 * Given σ the likelihood is log-concave, so that damped Newton steps cannot miss.
 * @param start       where to begin; the best of a neighbouring σ, or the plain mean and slope
 * @param withDrift   false: one mean for the whole record
 * @param integrated  take mean and drift out by integration (Laplace) rather than by maximising, so that σ does not come out small in a short record
 * Source: maximum likelihood for grouped observations: Kulldorff, "Contributions to the theory of estimation from grouped and partially grouped samples",
 *   1961 (from memory); Cox and Reid, JRSS B 49, 1987, for the adjustment (from memory).
 */
export function profileAt(
  blocks: readonly CountedBlock[],
  cells: Cells,
  sigma: Lsb,
  start: { readonly mean: number; readonly drift: number },
  withDrift: boolean,
  integrated: boolean,
): Profile {
  let mean = start.mean;
  let drift = withDrift ? start.drift : 0;
  let now = evaluate(blocks, cells, sigma, mean, drift);
  for (let round = 0; round < 40; round++) {
    const [g0, g1] = now.gradient;
    const [h00, h01, h11] = now.information;
    const ridge = 1e-9 * (h00 + h11) + 1e-12;
    let dMean: number;
    let dDrift = 0;
    if (withDrift) {
      const det = (h00 + ridge) * (h11 + ridge) - h01 * h01;
      dMean = ((h11 + ridge) * g0 - h01 * g1) / det;
      dDrift = ((h00 + ridge) * g1 - h01 * g0) / det;
    } else {
      dMean = g0 / (h00 + ridge);
    }
    const size = Math.max(Math.abs(dMean), Math.abs(dDrift) / 2);
    if (!Number.isFinite(size)) break;
    let step = Math.min(1, (2 * sigma) / size);
    let moved = false;
    for (let halving = 0; halving < 20; halving++) {
      const next = evaluate(blocks, cells, sigma, mean + step * dMean, drift + step * dDrift);
      if (next.value >= now.value) {
        moved = next.value > now.value + 1e-9;
        mean += step * dMean;
        drift += step * dDrift;
        now = next;
        break;
      }
      step /= 2;
    }
    if (!moved || size * step < 1e-6 * sigma) break;
  }
  const [h00, h01, h11] = now.information;
  const determinant = withDrift ? h00 * h11 - h01 * h01 : h00;
  const adjustment = integrated && determinant > 0 ? 0.5 * Math.log(determinant) : 0;
  return { sigma, logLikelihood: now.value - adjustment, mean, drift };
}

/** What the likelihood says about σ. */
export interface SigmaProfile {
  /** Where the likelihood is greatest; null when it keeps rising towards σ = 0. */
  readonly best: Profile | null;
  /** Ends at which twice the log-likelihood has fallen by `drop`; low null when it never does. */
  readonly low: Lsb | null;
  readonly high: Lsb;
}

const SMALLEST = 0.004;

/**
 * σ of grouped Gaussian readings with its likelihood interval.
 * @param drop  of twice the log-likelihood at the ends: 3.84 for 95 % two-sided, 2.71 for a 95 % bound, times whatever correlation between readings calls for
 * @param guess a σ to start from, > 0
 */
export function sigmaProfile(
  blocks: readonly CountedBlock[],
  cells: Cells,
  options: {
    readonly drop: number;
    readonly guess: Lsb;
    readonly mean: number;
    readonly drift: number;
    readonly withDrift: boolean;
    readonly integrated: boolean;
  },
): SigmaProfile {
  const { drop, withDrift, integrated } = options;
  let warm = { mean: options.mean, drift: options.drift };
  const at = (logSigma: number): Profile => {
    const p = profileAt(blocks, cells, Math.exp(logSigma), warm, withDrift, integrated);
    warm = p;
    return p;
  };
  const floor = Math.log(SMALLEST);
  // A coarse walk finds the hill, golden section its top.
  const start = Math.log(Math.max(SMALLEST * 2, options.guess));
  let centre = at(start);
  let centreAt = start;
  let stride = 0.3;
  let left = at(Math.max(floor, centreAt - stride));
  warm = centre;
  let right = at(centreAt + stride);
  for (let walk = 0; walk < 60; walk++) {
    if (left.logLikelihood > centre.logLikelihood && centreAt - stride > floor) {
      right = centre;
      centre = left;
      centreAt -= stride;
      warm = centre;
      left = at(Math.max(floor, centreAt - stride));
    } else if (right.logLikelihood > centre.logLikelihood) {
      left = centre;
      centre = right;
      centreAt += stride;
      warm = centre;
      right = at(centreAt + stride);
    } else break;
  }
  const atFloor = left.logLikelihood >= centre.logLikelihood - 1e-6 && centreAt - stride <= floor + stride;
  while (stride > 1e-3) {
    stride *= 0.5;
    warm = centre;
    const l = at(centreAt - stride);
    warm = centre;
    const r = at(centreAt + stride);
    if (l.logLikelihood > centre.logLikelihood && l.logLikelihood >= r.logLikelihood) {
      centre = l;
      centreAt -= stride;
    } else if (r.logLikelihood > centre.logLikelihood) {
      centre = r;
      centreAt += stride;
    }
  }
  const top = centre;
  const target = top.logLikelihood - drop / 2;
  const cross = (sign: 1 | -1): number | null => {
    let inside = centreAt;
    let step = 0.1;
    let outside = inside;
    warm = top;
    for (;;) {
      outside = inside + sign * step;
      if (sign < 0 && outside < floor) {
        outside = floor;
        if (at(outside).logLikelihood > target) return null;
        break;
      }
      if (at(outside).logLikelihood <= target) break;
      inside = outside;
      step *= 1.6;
      if (outside > 20) break;
    }
    for (let i = 0; i < 24; i++) {
      const middle = (inside + outside) / 2;
      if (at(middle).logLikelihood > target) inside = middle;
      else outside = middle;
    }
    return Math.exp((inside + outside) / 2);
  };
  const high = cross(1)!;
  const low = cross(-1);
  return { best: atFloor && low === null ? null : top, low, high };
}
