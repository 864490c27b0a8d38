import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import type { Random } from "../signal/random.ts";
import { noiseCorrelation, type Transitions } from "./transitions.ts";
import { halfWidth95, standard95 } from "./transitionsInterval.ts";

/** What this record's noise and gaps do to the static figures. Arrays: standard uncertainties in LSB, element i for T[first + i] or code first + i. */
export interface StaticErrors {
  readonly transitions: Float64Array;
  readonly inl: Float64Array;
  /** Last element NaN, as in DNL. */
  readonly dnl: Float64Array;
  /** 95 % half-widths. */
  readonly offset: Lsb;
  /** Per cent. */
  readonly gain: number;
}

/**
 * Propagates the errors of the transitions to the line, INL and DNL.
 * Neighbouring transitions share the readings between them, so that DNL is far better known than two independent transitions would give once noise exceeds
 * an LSB; the same correlation keeps averages (best-fit line) from improving as √count.
 * @param widths  code widths in LSB, shrunk towards 1, for the correlation of neighbours
 * Source: METHODS 1; JCGM 100:2008, 5.2 (correlated input quantities).
 */
export function staticErrors(
  tr: Transitions,
  scale: Scale,
  line: "endpoint" | "best-fit",
  widths: Float64Array,
): StaticErrors {
  const { inputs, noise, gap, sigma } = tr;
  const count = inputs.length;
  const last = count - 1;
  const transitions = new Float64Array(count);
  const inl = new Float64Array(count);
  const dnl = new Float64Array(count).fill(Number.NaN);
  const uniform = (i: number): number => (gap[i]! * gap[i]!) / 3;
  const variance = (i: number): number => noise[i]! * noise[i]! + uniform(i);
  for (let i = 0; i < count; i++) transitions[i] = standard95(variance(i), uniform(i));
  for (let i = 0; i < last; i++) {
    const shared = 2 * noise[i]! * noise[i + 1]! * noiseCorrelation(widths[i]!, sigma);
    const v = Math.max(0, noise[i]! ** 2 + noise[i + 1]! ** 2 - shared) + uniform(i) + uniform(i + 1);
    dnl[i] = standard95(v, Math.max(uniform(i), uniform(i + 1)) / 2);
  }
  const zero = -scale.low / scale.lsb;
  if (line === "endpoint") {
    const span = inputs[last]! - inputs[0]!;
    // Distances by the shrunk widths too: a transition that came out close to the end by chance must not look certain.
    const place = new Float64Array(count);
    for (let i = 0; i < last; i++) place[i + 1] = place[i]! + widths[i]!;
    const shared = (i: number, j: number): number =>
      noise[i]! * noise[j]! * noiseCorrelation(place[i]! - place[j]!, sigma);
    const v0 = variance(0);
    const vLast = variance(last);
    for (let i = 1; i < last; i++) {
      const a = i / last;
      const v =
        variance(i) +
        (1 - a) ** 2 * v0 +
        a * a * vLast -
        2 * (1 - a) * shared(i, 0) -
        2 * a * shared(i, last) +
        2 * a * (1 - a) * shared(0, last);
      inl[i] = standard95(Math.max(0, v), Math.max(uniform(i), (1 - a) ** 2 * uniform(0), a * a * uniform(last)));
    }
    const t = (zero - inputs[0]!) / span;
    const offsetParts = [(1 - t) ** 2 * uniform(0), t * t * uniform(last)];
    return {
      transitions,
      inl,
      dnl,
      offset: halfWidth95((1 - t) ** 2 * v0 + t * t * vLast, Math.max(...offsetParts)),
      gain: (100 * halfWidth95(v0 + vLast, Math.max(uniform(0), uniform(last)))) / span,
    };
  }
  // Best fit: a weighted mean over all transitions, whose noise is correlated over a few codes.
  let mean = 0;
  for (const x of inputs) mean += x / count;
  let xx = 0;
  for (const x of inputs) xx += (x - mean) ** 2;
  let v = 0;
  let xv = 0;
  let xxv = 0;
  for (let i = 0; i < count; i++) {
    const joined = noise[i]! ** 2 * correlatedCount(count, sigma) + uniform(i);
    const x = inputs[i]! - mean;
    v += joined;
    xv += x * joined;
    xxv += x * x * joined;
  }
  const lineVariance = (x: number): number => v / count ** 2 + (2 * x * xv) / (count * xx) + (x * x * xxv) / xx ** 2;
  for (let i = 0; i < count; i++) {
    const x = inputs[i]! - mean;
    const leverage = 1 / count + (x * x) / xx;
    const joined = noise[i]! ** 2 * correlatedCount(count, sigma) + uniform(i);
    inl[i] = standard95(Math.max(0, variance(i) - 2 * leverage * joined + lineVariance(x)), uniform(i));
  }
  return {
    transitions,
    inl,
    dnl,
    offset: halfWidth95(lineVariance(zero - mean), 0),
    gain: 100 * halfWidth95(xxv / xx ** 2, 0),
  };
}

/** Over how many transitions, one LSB apart, the noise's correlation sums up: Σ_j ρ(j). */
function correlatedCount(count: number, sigma: Lsb): number {
  let sum = 1;
  for (let j = 1; j < count; j++) {
    const rho = noiseCorrelation(j, sigma);
    if (rho < 1e-3) break;
    sum += 2 * rho;
  }
  return Math.min(sum, count);
}

/**
 * Draws of the errors of all transitions: noise as a chain whose neighbours are correlated as theory says, gaps uniform.
 * Deviates come from a pool that is walked from a random place in random odd steps, because a bootstrap needs hundreds of thousands of them.
 * @returns a function that fills its argument, as long as the transitions, with one draw
 */
export function errorDraws(tr: Transitions, widths: Float64Array, random: Random): (errors: Float64Array) => void {
  const { noise, gap, inputs, sigma } = tr;
  const size = inputs.length > 1 << 13 ? 1 << 17 : 1 << 14;
  const normals = Float64Array.from({ length: size }, () => random.normal());
  const gaps = gap.some((g) => g > 0);
  const uniforms = Float64Array.from({ length: gaps ? size : 0 }, () => 2 * random.uniform() - 1);
  const rho = new Float64Array(inputs.length);
  for (let i = 1; i < rho.length; i++) rho[i] = noiseCorrelation(widths[i - 1]!, sigma);
  const fresh = rho.map((r) => Math.sqrt(1 - r * r));
  const mask = size - 1;
  return (errors) => {
    let at = Math.floor(random.uniform() * size);
    const step = 2 * Math.floor((random.uniform() * size) / 2) + 1;
    let e = 0;
    for (let i = 0; i < errors.length; i++) {
      at = (at + step) & mask;
      e = rho[i]! * e + fresh[i]! * normals[at]!;
      errors[i] = noise[i]! * e;
    }
    if (!gaps) return;
    for (let i = 0; i < errors.length; i++) {
      at = (at + step) & mask;
      errors[i]! += gap[i]! * uniforms[at]!;
    }
  };
}

/**
 * Code widths for the correlation of neighbours, drawn towards 1 LSB by as much of their spread as noise explains: taken as measured, codes that came out
 * narrow by chance would also get too small an uncertainty.
 */
export function shrunkWidths({ inputs, noise, gap, sigma }: Transitions): Float64Array {
  const count = inputs.length - 1;
  const widths = new Float64Array(count);
  const rho = noiseCorrelation(1, sigma);
  let own = 0;
  let spread = 0;
  for (let i = 0; i < count; i++) {
    const w = inputs[i + 1]! - inputs[i]!;
    spread += (w - 1) ** 2 / count;
    own += ((1 - rho) * (noise[i]! ** 2 + noise[i + 1]! ** 2) + (gap[i]! ** 2 + gap[i + 1]! ** 2) / 3) / count;
  }
  const kept = spread > 0 ? Math.max(0, 1 - own / spread) : 0;
  for (let i = 0; i < count; i++) widths[i] = Math.max(0, 1 + kept * (inputs[i + 1]! - inputs[i]! - 1));
  return widths;
}
