import { median } from "../signal/median.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { quietNoise } from "./phasePieces.ts";

/** Pieces looked at, and their length. */
const PIECES = 9;
const LONGEST = 512;

/**
 * rms of readings about a tone over short pieces: what noise and quantisation are, also in a record whose phase is broken somewhere, of which one sine leaves
 * much more.
 * @returns codes; never more than the fit's own remainder
 */
export function localNoise(codes: Int32Array, fit: SineFit, usable: UsableCodes | null): number {
  const length = Math.min(LONGEST, Math.floor(codes.length / PIECES));
  // Of a short record the windows overlap, and a broken one spoils most of them.
  if (length < 24) return Math.min(fit.residualRms, quietNoise(codes, fit.cyclesPerReading, usable) || fit.residualRms);
  const seen: number[] = [];
  for (let p = 0; p < PIECES; p++) {
    const first = Math.floor((p * (codes.length - length)) / (PIECES - 1));
    const piece = fitSine(codes, {
      frequency: fit.cyclesPerReading,
      fixed: true,
      first,
      last: first + length - 1,
      usable,
    });
    if (piece !== null) seen.push(piece.residualRms);
  }
  return seen.length < 3 ? fit.residualRms : Math.min(fit.residualRms, median(seen));
}
