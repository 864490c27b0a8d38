import type { Stretch } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { robustDeviation } from "./robust.ts";
import { exclusion, type UsableCodes } from "./usableCodes.ts";

/**
 * Single readings that show the one before again, where the signal moves on: a stale register or buffer.
 * Only places count where the signal is known to move by more than eight standard deviations of the difference of two readings plus 3 codes, so
 * that equal codes by chance are out of the question (Gaussian tail 1e-15); elsewhere a repeated reading neither shows nor matters.
 * @param usable on rails and plateaus all readings are alike
 */
export function staleReadings(
  codes: Int32Array,
  usable: UsableCodes | null,
  fit: SineFit,
  clean: readonly Stretch[],
): Stretch[] {
  const found: Stretch[] = [];
  const exclude = exclusion(usable);
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  const noise = bulkNoise(codes, fit, longest(clean), exclude);
  const move = 8 * Math.SQRT2 * noise + 3;
  // The tone's largest move from one reading to the next.
  if (2 * fit.amplitude * Math.abs(Math.sin(omega / 2)) < move) return found;
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
            ...(exclude === null ? {} : { exclude }),
          });
    if (own === null) continue;
    for (let n = first + 1; n <= last; n++) {
      if (codes[n] !== codes[n - 1] || exclude?.(codes[n]!)) continue;
      const theta = omega * n + own.phase;
      const now = own.amplitude * Math.cos(theta);
      const before = own.amplitude * Math.cos(theta - omega);
      // The reading before must be where it belongs, and this one where the one before was.
      if (Math.abs(now - before) < move || Math.abs(codes[n]! - own.offset - before) > 0.5 * move) continue;
      found.push([n, n]);
    }
  }
  return found;
}

/** Deviation of the bulk of readings about the sine, which stale ones do not enter; codes. */
function bulkNoise(
  codes: Int32Array,
  fit: SineFit,
  [first, last]: Stretch,
  exclude: ((code: number) => boolean) | null,
): number {
  const stride = Math.max(1, Math.floor((last - first) / 5000));
  const left: number[] = [];
  for (let n = first; n <= last; n += stride)
    if (!exclude?.(codes[n]!))
      left.push(codes[n]! - fit.offset - fit.amplitude * Math.cos(2 * Math.PI * fit.cyclesPerReading * n + fit.phase));
  return Math.max(0.3, robustDeviation(left, 0));
}

function longest(stretches: readonly Stretch[]): Stretch {
  return stretches.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
}
