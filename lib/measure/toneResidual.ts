import { kernels } from "../kernels/kernels.generated.js";
import { readingsOf } from "../signal/readingsOf.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { FoldedResidual } from "./toneFold.ts";
import { HIGHEST_ORDER } from "./toneHarmonics.ts";

/** Σ r·cos hθ and Σ r·sin hθ by order, θ = 2π·f·(n − centre), r the residual of the sine fit. */
export interface HarmonicSums {
  readonly cos: Float64Array;
  readonly sin: Float64Array;
}

/** The sums straight from the readings: for records short enough that their cost does not matter. */
export function harmonicSums(codes: Int32Array | Float64Array, fit: SineFit): HarmonicSums {
  return kernels.harmonicSums(readingsOf(codes, 0, codes.length), fit, HIGHEST_ORDER);
}

/**
 * The same from the residual's phase bins: phases are off by at most half a bin, which costs harmonic 10 about 10⁻⁶ of its power at 16 384
 * bins.
 */
export function foldedHarmonicSums({ shift, moments }: FoldedResidual): HarmonicSums {
  return kernels.foldedHarmonicSums(moments, shift, HIGHEST_ORDER);
}
