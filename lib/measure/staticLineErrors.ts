import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { Random } from "../signal/random.ts";
import type { Transitions } from "./transitions.ts";

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
  return kernels.staticErrors(tr, line === "endpoint", -scale.low / scale.lsb, gain, widths);
}

/** Over how many transitions, one LSB apart, the noise's correlation sums up: Σ_j ρ(j). */
export const correlatedCount: (count: number, sigma: Lsb) => number = kernels.correlatedCount;

/**
 * Draws of the errors of all transitions: noise as a chain whose neighbours are correlated as theory says, gaps uniform.
 * Deviates come from a pool that is walked from a random place in random odd steps, because a bootstrap needs hundreds of thousands of them.
 * @returns a function that gives so many draws, one after the other in one array
 */
export function errorDraws(tr: Transitions, widths: Float64Array, random: Random): (draws: number) => Float64Array {
  const size = tr.inputs.length > 1 << 13 ? 1 << 17 : 1 << 14;
  const normals = random.normals(size);
  const uniforms = random.uniforms(tr.gap.some((g) => g > 0) ? size : 0);
  return (draws) => kernels.errorDraws(tr, widths, normals, uniforms, random.uniforms(2 * draws));
}

/**
 * Code widths for the correlation of neighbours, drawn towards 1 LSB by as much of their spread as noise explains: taken as measured, codes that came out
 * narrow by chance would also get too small an uncertainty.
 */
export const shrunkWidths: (tr: Transitions) => Float64Array = kernels.shrunkWidths;
