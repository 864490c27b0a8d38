import { kernels } from "../kernels/kernels.generated.js";
import { type CodeHistogram, countsBelow } from "../signal/codeHistogram.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/**
 * Transition levels by the published histogram method, from counts alone: the input below which the waveform spends the share CH[k−1]/S of its
 * time; T[k] = C − A·cos(π·CH[k−1]/S) for a sine. End bins are included in S. Exact for whole periods with even phases, or for very many random ones; this project
 * uses it as a cross-check of locateTransitions, which asks where the record's readings really were.
 * @returns element k is T[k], k = 1…topCode; NaN where no reading lies below, or none above
 * Source: IEEE Std 1241-2010, sine-wave and ramp histogram tests; Doernberg, Lee and Hodges, IEEE JSSC SC-19(6), 1984.
 */
export function plainTransitions(histogram: CodeHistogram, waveform: Waveform): Float64Array {
  return kernels.plainTransitions(waveform, countsBelow(histogram).subarray(0, -1), histogram.total);
}
