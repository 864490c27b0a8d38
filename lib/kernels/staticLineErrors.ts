import { noiseCorrelation } from "./noiseCorrelation";
import { coverageFactors, halfWidth95, standard95 } from "./transitionsInterval";

/** Transition levels with their errors: see lib/measure/transitions.ts. */
export class Transitions {
  inputs: Float64Array = new Float64Array(0);
  noise: Float64Array = new Float64Array(0);
  gap: Float64Array = new Float64Array(0);
  sigma: f64 = 0;
}

/** See SplitError in lib/measure/staticLineErrors.ts. */
export class SplitError {
  halfWidth: f64 = 0;
  noise: f64 = 0;
  gap: f64 = 0;
}

/** See StaticErrors in lib/measure/staticLineErrors.ts. */
export class StaticErrors {
  transitions: Float64Array = new Float64Array(0);
  inl: Float64Array = new Float64Array(0);
  dnl: Float64Array = new Float64Array(0);
  offset: SplitError = new SplitError();
  gain: SplitError = new SplitError();
}

function uniformVariance(halfWidth: f64): f64 {
  return (halfWidth * halfWidth) / 3;
}

/** @param flat  of the gaps' variance, the largest part that is one uniform error */
function split(factors: Float64Array, noise: f64, gap: f64, flat: f64, scale: f64): SplitError {
  return {
    halfWidth: scale * halfWidth95(factors, noise + gap, flat),
    noise: scale * sqrt<f64>(noise),
    gap: scale * sqrt<f64>(gap),
  };
}

/**
 * See staticErrors in lib/measure/staticLineErrors.ts.
 * @param zero  0 V, in LSB above the bottom of the range
 */
export function staticErrors(
  tr: Transitions,
  endpoint: bool,
  zero: f64,
  gain: f64,
  widths: Float64Array,
): StaticErrors {
  const noise = tr.noise;
  const gap = tr.gap;
  const count = noise.length;
  const factors = coverageFactors();
  const errors = new StaticErrors();
  const transitions = new Float64Array(count);
  const dnl = new Float64Array(count).fill(NaN);
  for (let i = 0; i < count; i++) {
    const u = uniformVariance(gap[i]);
    transitions[i] = standard95(factors, noise[i] * noise[i] + u, u);
    if (i === count - 1) break;
    const next = uniformVariance(gap[i + 1]);
    const shared = 2 * noise[i] * noise[i + 1] * noiseCorrelation(widths[i], tr.sigma);
    const v = max<f64>(0, noise[i] * noise[i] + noise[i + 1] * noise[i + 1] - shared) + u + next;
    // The sum of two uniform errors is nearly as round as a normal one: half the larger counts as flat.
    dnl[i] = gain * standard95(factors, v, max<f64>(u, next) / 2);
  }
  errors.transitions = transitions;
  errors.dnl = dnl;
  if (endpoint) endpointErrors(errors, tr, zero, widths, factors);
  else bestFitErrors(errors, tr, zero, factors);
  const inl = errors.inl;
  for (let i = 0; i < count; i++) inl[i] *= gain;
  return errors;
}

/** Two transitions carry the line: their errors go to every INL in proportion to the distance from the other. */
function endpointErrors(
  errors: StaticErrors,
  tr: Transitions,
  zero: f64,
  widths: Float64Array,
  factors: Float64Array,
): void {
  const inputs = tr.inputs;
  const noise = tr.noise;
  const gap = tr.gap;
  const last = inputs.length - 1;
  const span = inputs[last] - inputs[0];
  // Distances by the shrunk widths: a transition that came out close to the end by chance must not look certain.
  const place = new Float64Array(last + 1);
  for (let i = 0; i < last; i++) place[i + 1] = place[i] + widths[i];
  const first = noise[0] * noise[0];
  const final = noise[last] * noise[last];
  const ends = noise[0] * noise[last] * noiseCorrelation(place[last], tr.sigma);
  const firstGap = uniformVariance(gap[0]);
  const lastGap = uniformVariance(gap[last]);
  const inl = new Float64Array(last + 1);
  for (let i = 1; i < last; i++) {
    const a = <f64>i / last;
    const b = 1 - a;
    const withFirst = noise[i] * noise[0] * noiseCorrelation(place[i], tr.sigma);
    const withLast = noise[i] * noise[last] * noiseCorrelation(place[i] - place[last], tr.sigma);
    const byNoise =
      noise[i] * noise[i] + b * b * first + a * a * final - 2 * b * withFirst - 2 * a * withLast + 2 * a * b * ends;
    const own = uniformVariance(gap[i]);
    const byFirst = b * b * firstGap;
    const byLast = a * a * lastGap;
    inl[i] = standard95(
      factors,
      max<f64>(0, byNoise) + own + byFirst + byLast,
      max<f64>(own, max<f64>(byFirst, byLast)),
    );
  }
  const t = (zero - inputs[0]) / span;
  const low = (1 - t) * (1 - t);
  const high = t * t;
  errors.inl = inl;
  errors.offset = split(
    factors,
    low * first + high * final,
    low * firstGap + high * lastGap,
    max<f64>(low * firstGap, high * lastGap),
    1,
  );
  errors.gain = split(factors, first + final, firstGap + lastGap, max<f64>(firstGap, lastGap), 100 / span);
}

/** What weighted errors of all transitions do to a best-fit line. */
class LineSums {
  count: f64 = 0;
  xx: f64 = 0;
  v: f64 = 0;
  xv: f64 = 0;
  xxv: f64 = 0;

  add(x: f64, v: f64): void {
    this.v += v;
    this.xv += x * v;
    this.xxv += x * x * v;
  }

  /** Variance of the line at x, from the mean of the inputs. */
  varianceAt(x: f64): f64 {
    const xx = this.xx;
    return this.v / (this.count * this.count) + (2 * x * this.xv) / (this.count * xx) + (x * x * this.xxv) / (xx * xx);
  }
}

/** A weighted mean over all transitions, whose noise is correlated over a few codes. */
function bestFitErrors(errors: StaticErrors, tr: Transitions, zero: f64, factors: Float64Array): void {
  const inputs = tr.inputs;
  const noise = tr.noise;
  const gap = tr.gap;
  const count = inputs.length;
  const correlated = correlatedCount(count, tr.sigma);
  let mean: f64 = 0;
  for (let i = 0; i < count; i++) mean += inputs[i] / count;
  let xx: f64 = 0;
  for (let i = 0; i < count; i++) xx += (inputs[i] - mean) * (inputs[i] - mean);
  const byNoise = new LineSums();
  const byGap = new LineSums();
  byNoise.count = byGap.count = count;
  byNoise.xx = byGap.xx = xx;
  for (let i = 0; i < count; i++) {
    const x = inputs[i] - mean;
    byNoise.add(x, noise[i] * noise[i] * correlated);
    byGap.add(x, uniformVariance(gap[i]));
  }
  const inl = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const x = inputs[i] - mean;
    const leverage = 1 / <f64>count + (x * x) / xx;
    const u = uniformVariance(gap[i]);
    const v = noise[i] * noise[i] * (1 - 2 * leverage * correlated) + u * (1 - 2 * leverage);
    inl[i] = standard95(factors, max<f64>(0, v + byNoise.varianceAt(x) + byGap.varianceAt(x)), u);
  }
  errors.inl = inl;
  // Gaps of thousands of transitions add up to a normal error.
  errors.offset = split(factors, byNoise.varianceAt(zero - mean), byGap.varianceAt(zero - mean), 0, 1);
  errors.gain = split(factors, byNoise.xxv / (xx * xx), byGap.xxv / (xx * xx), 0, 100);
}

/** Over how many transitions, one LSB apart, the noise's correlation sums up: Σ_j ρ(j). */
export function correlatedCount(count: i32, sigma: f64): f64 {
  let sum: f64 = 1;
  for (let j = 1; j < count; j++) {
    const rho = noiseCorrelation(j, sigma);
    if (rho < 1e-3) break;
    sum += 2 * rho;
  }
  return min<f64>(sum, count);
}

/** See shrunkWidths in lib/measure/staticLineErrors.ts. */
export function shrunkWidths(tr: Transitions): Float64Array {
  const inputs = tr.inputs;
  const noise = tr.noise;
  const gap = tr.gap;
  const count = inputs.length - 1;
  const widths = new Float64Array(count);
  const rho = noiseCorrelation(1, tr.sigma);
  let own: f64 = 0;
  let spread: f64 = 0;
  for (let i = 0; i < count; i++) {
    const w = inputs[i + 1] - inputs[i] - 1;
    spread += (w * w) / count;
    const noises = noise[i] * noise[i] + noise[i + 1] * noise[i + 1];
    own += ((1 - rho) * noises + (gap[i] * gap[i] + gap[i + 1] * gap[i + 1]) / 3) / count;
  }
  const kept = spread > 0 ? max<f64>(0, 1 - own / spread) : 0;
  for (let i = 0; i < count; i++) widths[i] = max<f64>(0, 1 + kept * (inputs[i + 1] - inputs[i] - 1));
  return widths;
}
