import { kernels } from "../kernels/kernels.generated.js";
import { fitSine, type SineFit } from "./sineFit.ts";
import { ALL_CODES, isUsable, type UsableCodes } from "./usableCodes.ts";

/** A triangle fitted to readings: y[n] = offset + amplitude·w(turn), turn = frequency·n + start, w = −1 at turn 0 (lowest), +1 at ½. */
export interface TriangleFit {
  /** Cycles per reading. */
  readonly frequency: number;
  /** Turn of the record's reading 0, in [0, 1). */
  readonly start: number;
  /** Standard uncertainty of start, white residual assumed. */
  readonly startStandard: number;
  readonly offset: number;
  readonly amplitude: number;
  /** Standard uncertainties of offset and amplitude, white residual assumed: large where the readings hardly pass a second apex. */
  readonly offsetStandard: number;
  readonly amplitudeStandard: number;
  readonly residualRms: number;
}

/** Readings looked at per pass; longer records are taken in blocks spread over their length. */
const MOST_USED = 1 << 18;
const BLOCK = 2048;
/** Means that a long record's first sine is fitted to, and the cycles a mean up to which they follow it. */
const MOST_MEANS = 1 << 16;
const SLOW = 0.02;
/** Readings this many standard deviations off are left out of the fit; noise alone goes as far once in 500 million readings. */
const TRIMMED = 6;

/**
 * Least-squares triangle, readings at the rails left out, started from sine fits at the known frequency and at the best one.
 * @param frequency  known to about a quarter of a cycle over the stretch, cycles per reading; null: from the sine fit
 * @param fixed      the frequency stays
 * @param floor      codes from here down are left out as well: a plateau's
 * @returns null when no triangle follows from the readings
 * Source: Gauss-Newton on the four parameters, as IEEE Std 1057 does for a sine.
 */
export function fitTriangle(
  codes: Int32Array,
  topCode: number,
  first: number,
  last: number,
  frequency: number | null,
  fixed = false,
  floor = 0,
): TriangleFit | null {
  const usable = { floor, ceiling: topCode };
  if (last - first < 8) return null;
  const starts = frequency === null ? [] : [startingSine(codes, usable, first, last, frequency)];
  if (!fixed) starts.push(startingSine(codes, usable, first, last, null));
  const readings = picked(codes, first, last);
  let best: TriangleFit | null = null;
  for (const start of starts) {
    const found = start && refine(readings, [floor, topCode], first, last, start, fixed);
    if (found && (best === null || found.residualRms < 0.99 * best.residualRms)) best = found;
  }
  return best;
}

/**
 * A sine to start from: of a long record through the means of blocks, which a slow triangle hardly changes within. Rails leave a block without one.
 * @param frequency  the sine keeps it; null: the best there is
 */
function startingSine(
  codes: Int32Array,
  usable: UsableCodes,
  first: number,
  last: number,
  frequency: number | null,
): SineFit | null {
  const each = Math.floor((last - first + 1) / MOST_MEANS);
  if (each > 1) {
    const means = new Float64Array(Math.floor((last - first + 1) / each));
    for (let b = 0; b < means.length; b++) {
      let sum = 0;
      for (let n = first + b * each; n < first + (b + 1) * each; n++)
        sum += isUsable(codes[n]!, usable) ? codes[n]! : Number.NaN;
      means[b] = sum / each;
    }
    const known = frequency === null ? {} : { frequency: frequency * each, fixed: true };
    const sine = fitSine(means, { ...known, usable: ALL_CODES });
    if (sine !== null && sine.cyclesPerReading < SLOW) {
      const cyclesPerReading = sine.cyclesPerReading / each;
      const phase = sine.phase - 2 * Math.PI * cyclesPerReading * (first + (each - 1) / 2);
      return { ...sine, cyclesPerReading, phase };
    }
  }
  return fitSine(codes, { first, last, usable, ...(frequency === null ? {} : { frequency, fixed: true }) });
}

/** Readings first…last, or blocks spread over their length, each so many readings after the one before. */
interface Picked {
  readonly codes: Int32Array;
  readonly stride: number;
}

function picked(codes: Int32Array, first: number, last: number): Picked {
  const every = Math.max(1, Math.ceil((last - first + 1) / MOST_USED));
  if (every === 1) return { codes: codes.subarray(first, last + 1), stride: BLOCK };
  const stride = every * BLOCK;
  const blocks: Int32Array[] = [];
  for (let from = first; from <= last; from += stride)
    blocks.push(codes.subarray(from, Math.min(last + 1, from + BLOCK)));
  const all = new Int32Array(blocks.reduce((sum, block) => sum + block.length, 0));
  blocks.forEach((block, b) => {
    all.set(block, b * BLOCK);
  });
  return { codes: all, stride };
}

function refine(
  { codes, stride }: Picked,
  [floor, ceiling]: readonly [number, number],
  first: number,
  last: number,
  sine: SineFit,
  fixed: boolean,
): TriangleFit | null {
  const begin = {
    frequency: sine.cyclesPerReading,
    turnAtCentre: (sine.cyclesPerReading * (first + last)) / 2 + sine.phase / (2 * Math.PI) + 0.5,
    offset: sine.offset,
    // A triangle's fundamental has 8/π² of its amplitude.
    amplitude: (sine.amplitude * Math.PI ** 2) / 8,
    fixed,
  };
  return kernels.refineTriangle(codes, BLOCK, stride, first, last, begin, floor, ceiling, TRIMMED);
}
