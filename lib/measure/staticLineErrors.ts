import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import type { Random } from "../signal/random.ts";
import { noiseCorrelation, type Transitions } from "./transitions.ts";
import { halfWidth95, standard95 } from "./transitionsInterval.ts";

/** An error's 95 % half-width, and the standard uncertainties that it is made of. */
export interface SplitError {
  readonly halfWidth: number;
  readonly noise: number;
  readonly gap: number;
}

/** What this record's noise and gaps do to the static figures. Arrays: standard uncertainties in LSB, element i for T[first + i] or code first + i. */
export interface StaticErrors {
  readonly transitions: Float64Array;
  readonly inl: Float64Array;
  /** Last element NaN, as in DNL. */
  readonly dnl: Float64Array;
  /** LSB. */
  readonly offset: SplitError;
  /** Per cent. */
  readonly gain: SplitError;
}

const uniformVariance = (halfWidth: number): number => (halfWidth * halfWidth) / 3;

function split(noise: number, gaps: readonly number[], scale = 1): SplitError {
  const gap = gaps.reduce((sum, g) => sum + g, 0);
  return {
    halfWidth: scale * halfWidth95(noise + gap, Math.max(0, ...gaps)),
    noise: scale * Math.sqrt(noise),
    gap: scale * Math.sqrt(gap),
  };
}

/**
 * Propagates the errors of the transitions to the line, INL and DNL.
 * Neighbouring transitions share the readings between them, so that DNL is far better known than two independent transitions would give once noise exceeds
 * an LSB; the same correlation keeps averages (best-fit line) from improving as √count.
 * @param gain    G of the line, by which INL and DNL are multiplied
 * @param widths  code widths in LSB, shrunk towards 1, for the correlation of neighbours
 * Source: METHODS 1; JCGM 100:2008, 5.2 (correlated input quantities).
 */
export function staticErrors(
  tr: Transitions,
  scale: Scale,
  line: "endpoint" | "best-fit",
  gain: number,
  widths: Float64Array,
): StaticErrors {
  const { noise, gap, sigma } = tr;
  const count = noise.length;
  const transitions = new Float64Array(count);
  const dnl = new Float64Array(count).fill(Number.NaN);
  for (let i = 0; i < count; i++) {
    const u = uniformVariance(gap[i]!);
    transitions[i] = standard95(noise[i]! ** 2 + u, u);
    if (i === count - 1) break;
    const next = uniformVariance(gap[i + 1]!);
    const shared = 2 * noise[i]! * noise[i + 1]! * noiseCorrelation(widths[i]!, sigma);
    const v = Math.max(0, noise[i]! ** 2 + noise[i + 1]! ** 2 - shared) + u + next;
    // The sum of two uniform errors is nearly as round as a normal one: half the larger counts as flat.
    dnl[i] = gain * standard95(v, Math.max(u, next) / 2);
  }
  const zero = -scale.low / scale.lsb;
  const rest = line === "endpoint" ? endpointErrors(tr, zero, widths) : bestFitErrors(tr, zero);
  return { transitions, dnl, ...rest, inl: rest.inl.map((u) => gain * u) };
}

type LineErrors = Pick<StaticErrors, "inl" | "offset" | "gain">;

/** Two transitions carry the line: their errors go to every INL in proportion to the distance from the other. */
function endpointErrors({ inputs, noise, gap, sigma }: Transitions, zero: Lsb, widths: Float64Array): LineErrors {
  const last = inputs.length - 1;
  const span = inputs[last]! - inputs[0]!;
  // Distances by the shrunk widths: a transition that came out close to the end by chance must not look certain.
  const place = new Float64Array(last + 1);
  for (let i = 0; i < last; i++) place[i + 1] = place[i]! + widths[i]!;
  const shared = (i: number, j: number): number =>
    noise[i]! * noise[j]! * noiseCorrelation(place[i]! - place[j]!, sigma);
  const ends = shared(0, last);
  const firstGap = uniformVariance(gap[0]!);
  const lastGap = uniformVariance(gap[last]!);
  const inl = new Float64Array(last + 1);
  for (let i = 1; i < last; i++) {
    const a = i / last;
    const byNoise =
      noise[i]! ** 2 +
      (1 - a) ** 2 * noise[0]! ** 2 +
      a * a * noise[last]! ** 2 -
      2 * (1 - a) * shared(i, 0) -
      2 * a * shared(i, last) +
      2 * a * (1 - a) * ends;
    const gaps = [uniformVariance(gap[i]!), (1 - a) ** 2 * firstGap, a * a * lastGap] as const;
    inl[i] = standard95(Math.max(0, byNoise) + gaps[0] + gaps[1] + gaps[2], Math.max(...gaps));
  }
  const t = (zero - inputs[0]!) / span;
  return {
    inl,
    offset: split((1 - t) ** 2 * noise[0]! ** 2 + t * t * noise[last]! ** 2, [
      (1 - t) ** 2 * firstGap,
      t * t * lastGap,
    ]),
    gain: split(noise[0]! ** 2 + noise[last]! ** 2, [firstGap, lastGap], 100 / span),
  };
}

/** A weighted mean over all transitions, whose noise is correlated over a few codes. */
function bestFitErrors({ inputs, noise, gap, sigma }: Transitions, zero: Lsb): LineErrors {
  const count = inputs.length;
  const correlated = correlatedCount(count, sigma);
  let mean = 0;
  for (const x of inputs) mean += x / count;
  let xx = 0;
  for (const x of inputs) xx += (x - mean) ** 2;
  const sums = { noise: [0, 0, 0], gap: [0, 0, 0] };
  for (let i = 0; i < count; i++) {
    const x = inputs[i]! - mean;
    for (const [part, v] of [
      ["noise", noise[i]! ** 2 * correlated],
      ["gap", uniformVariance(gap[i]!)],
    ] as const) {
      sums[part][0]! += v;
      sums[part][1]! += x * v;
      sums[part][2]! += x * x * v;
    }
  }
  const lineVariance = (part: "noise" | "gap", x: number): number =>
    sums[part][0]! / count ** 2 + (2 * x * sums[part][1]!) / (count * xx) + (x * x * sums[part][2]!) / xx ** 2;
  const inl = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const x = inputs[i]! - mean;
    const leverage = 1 / count + (x * x) / xx;
    const u = uniformVariance(gap[i]!);
    const v = noise[i]! ** 2 * (1 - 2 * leverage * correlated) + u * (1 - 2 * leverage);
    inl[i] = standard95(Math.max(0, v + lineVariance("noise", x) + lineVariance("gap", x)), u);
  }
  // Gaps of thousands of transitions add up to a normal error.
  const both = (noiseVariance: number, gapVariance: number, factor = 1): SplitError => ({
    ...split(noiseVariance, [gapVariance], factor),
    halfWidth: factor * halfWidth95(noiseVariance + gapVariance, 0),
  });
  return {
    inl,
    offset: both(lineVariance("noise", zero - mean), lineVariance("gap", zero - mean)),
    gain: both(sums.noise[2]! / xx ** 2, sums.gap[2]! / xx ** 2, 100),
  };
}

/** Over how many transitions, one LSB apart, the noise's correlation sums up: Σ_j ρ(j). */
export function correlatedCount(count: number, sigma: Lsb): number {
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
