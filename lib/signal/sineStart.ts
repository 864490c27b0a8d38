import { kernels } from "../kernels/kernels.generated.js";
import { fftInterleaved, nextPowerOfTwo } from "./powerOfTwoFft.ts";

/**
 * Start value of a sine fit: the frequency, of a fine grid over 0…½ cycle a reading, at which offset, cosine and sine explain most of the
 * readings.
 * This is the three-parameter least-squares fit itself at every grid point, not the peak of a spectrum, so that neither leakage from the
 * offset
 * nor a fraction of a cycle nor left-out readings can lead to a wrong peak.
 * @param values  readings in order
 * @param used    1 for a reading to use, 0 for one to leave out; null: all are used
 * @returns cycles per reading, and the grid's spacing there; null when all used values are equal or fewer than 4
 * Source: Zechmeister and Kürster, "The generalised Lomb-Scargle periodogram", Astron. Astrophys. 496, 2009 (the criterion; sums by FFT are
 *   ours).
 */
export function sineStart(
  values: Float64Array,
  used: Uint8Array | null,
): { readonly frequency: number; readonly spacing: number } | null {
  const { values: about, count, total } = kernels.aboutMean(values, used);
  if (count < 4 || !(total > 0)) return null;
  // Bins of a quarter of a cycle over the readings.
  const length = nextPowerOfTwo(values.length);
  const readings = paddedTransform(about, length);
  const weights = used === null ? null : paddedTransform(Float64Array.from(used), length);
  const { explained, frequency, spacing } = kernels.bestSine(about, used, count, readings, weights, 4 * length);
  return explained > 0 ? { frequency, spacing } : null;
}

/** Transform of real values filled up with zeros to four times the length: four short transforms, in the order of quarterTurns. */
function paddedTransform(values: Float64Array, length: number): Float64Array {
  const parts = kernels.quarterTurns(values, length);
  const out = new Float64Array(parts.length);
  for (let r = 0; r < 4; r++) out.set(fftInterleaved(parts.subarray(r * length, (r + 1) * length)), r * length);
  return out;
}
