import { median } from "../signal/median.ts";
import { median5, robustDeviation } from "./robust.ts";

/** A place where a triangle does not go on from where it was. */
export interface TriangleJump {
  readonly at: number;
  /** Codes jumped. */
  readonly codes: number;
  /** Readings missing at least: the jump over the triangle's slope. */
  readonly readings: number;
}

/**
 * Jumps in a triangle: medians of five readings before and after a place, which its slope moves by five readings' advance and an apex by less. Allowed for are
 * eight standard deviations of the noise and eight codes for the converter's own curve; Gaussian noise passes that once in 1e15 places.
 * Smaller losses, and those at an apex, do not show.
 * @param top  the top code: at the rails a triangle is flat
 * @param lsb  codes to an LSB of the converter, where firmware sums conversions
 */
export function triangleJumps(codes: Int32Array, top: number, lsb: number): TriangleJump[] {
  if (codes.length < 64) return [];
  const stride = Math.max(1, Math.floor(codes.length / 20_000));
  const moves: number[] = [];
  const single: number[] = [];
  const bends: number[] = [];
  for (let n = 8; n < codes.length; n += stride) {
    if (codes[n]! <= 0 || codes[n]! >= top) continue;
    moves.push(Math.abs(codes[n]! - codes[n - 8]!) / 8);
    single.push(Math.abs(codes[n]! - codes[n - 1]!));
    bends.push(codes[n]! - 2 * codes[n - 1]! + codes[n - 2]!);
  }
  if (moves.length < 32) return [];
  const noise = Math.max(0.3, robustDeviation(bends, 0) / Math.sqrt(6));
  // Over eight readings noise averages out; of a fast triangle, which turns round within them, the single moves are the better measure.
  const slope = Math.max(median(moves) + noise / 4, median(single) - noise);
  // For the limit the slope is taken rather too steep; how many readings a jump is asks for the plain one.
  // One so slow that most readings do not move shows none.
  const shown = Math.max(median(moves), median(single) - noise);
  const plain = shown > noise / 4 ? shown : slope;
  const limit = 6 * slope + 8 * noise + 8 * lsb;
  const found: TriangleJump[] = [];
  const at5 = (n: number): number => median5(codes[n]!, codes[n + 1]!, codes[n + 2]!, codes[n + 3]!, codes[n + 4]!);
  for (let n = 5; n + 5 <= codes.length; n++) {
    // Cheap first: without a jump between neighbours there is none between medians.
    if (Math.abs(codes[n]! - codes[n - 1]!) < limit - 5 * slope) continue;
    const codesJumped = at5(n) - at5(n - 5);
    if (Math.abs(codesJumped) <= limit) continue;
    found.push({
      at: n,
      codes: Math.abs(codesJumped),
      readings: Math.max(1, Math.round(Math.abs(codesJumped) / plain - 5)),
    });
    n += 5;
  }
  return found;
}
