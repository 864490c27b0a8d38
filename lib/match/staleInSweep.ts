import type { Stretch } from "../capture/record.ts";
import { normalQuantile } from "../signal/distributions.ts";
import { FALSE_ALARM } from "./context.ts";
import { LINEARITY_ALLOWANCE } from "./sweepJumps.ts";
import { type Moving, usualStep } from "./sweepStep.ts";

/** Share of its usual advance within which the sweep must go on around a stale reading. */
const USUAL = 0.4;

/**
 * Single readings of a ramp or triangle that show the one before again, although the sweep had moved on: the one after stands where it should. Told only where a reading's advance
 * exceeds the linearity allowance and what noise does to a difference with chance FALSE_ALARM over all readings; in slower sweeps equal readings are ordinary.
 * Cheap: one pass, and none in a slow sweep.
 * @param moving  codes strictly between which the sweep moves
 * @param lsb     codes to an LSB of the converter, where firmware sums conversions
 */
export function staleInSweep(codes: Int32Array, moving: Moving, isRamp: boolean, lsb: number): Stretch[] {
  const usual = usualStep(codes, moving, 1, isRamp);
  if (usual === null) return [];
  const advance = Math.abs(usual.step);
  // One reading off the middle of its neighbours scatters by √(3/2) of the noise, a difference of two by √2.
  const chance = -normalQuantile(FALSE_ALARM / (2 * codes.length)) * usual.scatter * Math.sqrt(0.75);
  const least = LINEARITY_ALLOWANCE.ahead * lsb + chance;
  if (advance < least) return [];
  const inside = (y: number): boolean => y > moving.floor && y < moving.ceiling;
  const found: Stretch[] = [];
  for (let n = 2; n + 1 < codes.length; n++) {
    if (codes[n] !== codes[n - 1] || !inside(codes[n]!) || !inside(codes[n + 1]!)) continue;
    const before = codes[n - 1]! - codes[n - 2]!;
    const over = codes[n + 1]! - codes[n - 1]!;
    const margin = Math.max(least / 2, USUAL * advance);
    if (Math.abs(Math.abs(before) - advance) < margin && Math.abs(over - Math.sign(before) * 2 * advance) < margin)
      found.push([n, n]);
  }
  return found;
}
