import type { Stretch } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { median } from "../signal/median.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, isUsable, type UsableCodes } from "../signal/usableCodes.ts";

const ROUNDS = 3;
/** Deviations, by the median's measure, beyond which a reading is left out, and the least deviation, codes. */
const DEVIATIONS = 5;
const LEAST = 0.5;
/** Readings in a row that are upset at most: more have another cause. */
const LONGEST_RUN = 3;

/**
 * A sine fitted again to a short record without readings that stand apart from it, as far as fewer than a tenth do and each stands nearly alone.
 * @returns the fit, and how many readings were left out
 */
export function fitWithoutUpsets(
  codes: ArrayLike<number>,
  whole: SineFit,
  [first, last]: Stretch,
  usable: UsableCodes | null,
): { readonly fit: SineFit; readonly upset: number } {
  let fit = whole;
  let upset = 0;
  for (let round = 0; round < ROUNDS; round++) {
    const sine = alongSine(fit);
    const away = Float64Array.from({ length: last - first + 1 }, (_, i) =>
      Math.abs(codes[first + i]! - sine(first + i)),
    );
    const limit = DEVIATIONS * Math.max(1.4826 * median(away), LEAST);
    const apart = away.reduce((count, a) => count + (a > limit ? 1 : 0), 0);
    if (apart === 0 || apart > away.length / 10 || longestRun(away, limit) > LONGEST_RUN) break;
    const kept = Float64Array.from(codes, (y, n) =>
      n < first || n > last || away[n - first]! > limit || !isUsable(y, usable) ? Number.NaN : y,
    );
    const again = fitSine(kept, { first, last, frequency: fit.cyclesPerReading, usable: ALL_CODES });
    if (again === null) break;
    fit = again;
    upset = apart;
  }
  return { fit, upset };
}

function longestRun(away: Float64Array, limit: number): number {
  let longest = 0;
  let run = 0;
  for (const a of away) {
    run = a > limit ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}
