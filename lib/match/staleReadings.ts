import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { normalQuantile } from "../signal/distributions.ts";
import { oneIn } from "../signal/oneIn.ts";
import { piecesOf } from "../signal/readingsOf.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
import { FALSE_ALARM } from "./context.ts";

/** Codes that the converter's own curve may account for beside the noise. */
const INL_ALLOWANCE = 1;

/**
 * Single readings that show the one before again, where the signal moves on: a stale register or buffer.
 * Only equal neighbours count of which the second stands off the tone by more than noise does with chance FALSE_ALARM over all readings, and a code, while the first is twice as close; that
 * such a reading equals the one before by chance as well makes it rarer by the noise's width in codes. Elsewhere a repeated reading neither shows nor matters.
 * @param usable on rails and plateaus all readings are alike
 */
export function staleReadings(
  codes: Int32Array,
  usable: UsableCodes | null,
  fit: SineFit,
  clean: readonly Stretch[],
): Stretch[] {
  const found: Stretch[] = [];
  const noise = bulkNoise(codes, fit, longest(clean), usable);
  const far = INL_ALLOWANCE - normalQuantile(FALSE_ALARM / (2 * codes.length)) * noise;
  // The tone's largest move from one reading to the next.
  if (2 * fit.amplitude * Math.abs(Math.sin(Math.PI * fit.cyclesPerReading)) < far) return found;
  for (const [first, last] of clean) {
    // Across a loss the phase is another one: each stretch has its own.
    const own =
      clean.length === 1
        ? fit
        : fitSine(codes, {
            first,
            last,
            frequency: fit.cyclesPerReading,
            fixed: true,
            usable,
          });
    if (own === null) continue;
    // Pieces share a reading: each has the one before.
    for (const { from, to } of piecesOf(last - first)) {
      const start = first + from;
      const piece = codes.subarray(start, first + to + 1);
      for (const i of kernels.staleAlong(piece, own, start, far, usable ?? ALL_CODES))
        found.push([start + i, start + i]);
    }
  }
  return found;
}

/** Deviation of the bulk of readings about the sine, which stale ones do not enter; codes. */
function bulkNoise(codes: Int32Array, fit: SineFit, [first, last]: Stretch, usable: UsableCodes | null): number {
  const stride = Math.max(1, Math.floor((last - first) / 5000));
  const sine = { ...fit, phase: fit.phase + 2 * Math.PI * ((fit.cyclesPerReading * first) % 1) };
  const picked = oneIn(stride, codes.subarray(first, last + 1));
  return Math.max(0.3, kernels.typicalDeviation(picked, sine, stride, usable ?? ALL_CODES));
}

function longest(stretches: readonly Stretch[]): Stretch {
  return stretches.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
}
