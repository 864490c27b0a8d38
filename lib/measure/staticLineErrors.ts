import type { Scale } from "../bench/scale.ts";
import { kernels } from "../kernels/kernels.generated.js";
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

/**
 * Code widths for the correlation of neighbours, drawn towards 1 LSB by as much of their spread as noise explains: taken as measured, codes that came out
 * narrow by chance would also get too small an uncertainty.
 */
export const shrunkWidths: (tr: Transitions) => Float64Array = kernels.shrunkWidths;
