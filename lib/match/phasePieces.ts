import { kernels } from "../kernels/kernels.generated.js";
import { readingsOf } from "../signal/readingsOf.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";

/** Most places between which pieces may begin; in longer records blocks of readings stay together. */
const MOST_NODES = 256;
/** Readings of the shortest piece: three are fitted away. */
const SHORTEST = 6;

/** A record cut into pieces, each a sine of its own level, amplitude and phase, all of one frequency. */
export interface PhasePieces {
  readonly cycles: number;
  /** First reading of each piece, the first of them 0; good to `length` readings. */
  readonly starts: readonly number[];
  readonly length: number;
  /** Sum of squares that is left, and a price for each piece. */
  readonly cost: number;
}

/**
 * The pieces that cost least, by dynamic programming over all places (Bellman; "optimal partitioning", Jackson and others, IEEE Signal Processing Letters 12, 2005, from memory). Many jumps
 * are found together, where one at a time would find none: each hides among the others.
 * 256 nodes take some 33 000 fits from running sums.
 * @param noise  rms of one reading, codes; a piece costs `price` times its square
 */
export function phasePieces(
  codes: ArrayLike<number>,
  cycles: number,
  noise: number,
  price: number,
  usable: UsableCodes | null,
): PhasePieces {
  const length = Math.max(1, Math.ceil(codes.length / MOST_NODES));
  const nodes = Math.max(1, Math.floor(codes.length / length));
  const readings = readingsOf(codes, 0, codes.length, usable);
  const shortest = Math.ceil(SHORTEST / length);
  const fee = price * noise * noise;
  const middle = codes[codes.length >> 1]!;
  const { starts, cost } = kernels.cheapestPieces(readings, cycles, middle, length, nodes, shortest, fee);
  return { cycles, starts: [...starts], length, cost };
}

/** Readings of a window looked at for the noise; of those the tenth that fits best tells, and by how much its rms of five free readings falls short: χ²₅ is below 1.61 in a tenth of cases. */
const WINDOW = 8;
const TENTH_SHORT = Math.sqrt(5 / 1.61);

/** rms of a reading about a sine over eight readings, from the tenth of windows that fit best: where readings are lost every dozen, jumps spoil most of them. Codes. */
export function quietNoise(codes: Int32Array, cycles: number, usable: UsableCodes | null): number {
  const stride = Math.max(1, Math.floor(codes.length / 512));
  const windows = new Float64Array(WINDOW * Math.max(0, Math.floor((codes.length - WINDOW) / stride) + 1));
  for (let first = 0, at = 0; at < windows.length; first += stride, at += WINDOW)
    windows.set(readingsOf(codes, first, first + WINDOW, usable), at);
  const seen = kernels.windowVariances(windows, cycles, WINDOW).sort();
  const tenth = seen[Math.floor(seen.length / 10)];
  return tenth === undefined ? Number.NaN : TENTH_SHORT * Math.sqrt(tenth);
}
