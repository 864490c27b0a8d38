import type { Stretch } from "../capture/record.ts";

/** Blocks of consecutive readings a steady record is divided into, for its course over time and its drift. */
const BLOCKS = 96;
/** A record with more different codes than this is far from needing its codes counted block by block. */
const MOST_CODES = 512;

/** One pass's worth of facts about a steady record: all that its measures need, without a second copy of the readings. */
export interface SteadySurvey {
  readonly readings: number;
  readonly smallest: number;
  readonly largest: number;
  readonly mean: number;
  /** Least-squares slope, LSB per reading; 0 for fewer than three readings. */
  readonly slope: number;
  /** Σ(n − n̄)². */
  readonly timeSquares: number;
  /** Counts of codes smallest…largest; null when they spread over too many codes to list. */
  readonly counts: Float64Array | null;
  readonly blocks: readonly SteadyBlock[];
}

export interface SteadyBlock {
  readonly readings: number;
  readonly sum: number;
  /** Middle of the block within the record, −½…½. */
  readonly position: number;
  /** Counts of codes smallest…largest; null when these are many. */
  readonly counts: Float64Array | null;
}

/**
 * Surveys the readings of the clean stretches, one after the other. Readings are numbered through; a gap between stretches takes no time, so that a drift
 * over a record with lost readings is one per reading kept.
 * @throws RangeError  there are no readings
 */
export function steadySurvey(codes: Int32Array, stretches: readonly Stretch[]): SteadySurvey {
  const readings = stretches.reduce((sum, [first, last]) => sum + last - first + 1, 0);
  if (!(readings > 0)) throw new RangeError("steadySurvey: requires at least one reading");
  let smallest = Number.POSITIVE_INFINITY;
  let largest = Number.NEGATIVE_INFINITY;
  for (const [first, last] of stretches)
    for (let n = first; n <= last; n++) {
      const y = codes[n]!;
      if (y < smallest) smallest = y;
      if (y > largest) largest = y;
    }
  const span = largest - smallest + 1;
  const each = Math.max(1, Math.ceil(readings / BLOCKS));
  const blocks: { readings: number; sum: number; position: number; counts: Float64Array | null }[] = [];
  const middle = (readings - 1) / 2;
  let sum = 0;
  let cross = 0;
  let at = 0;
  for (const [first, last] of stretches) {
    for (let n = first; n <= last; ) {
      const b = Math.floor(at / each);
      if (blocks.length === b)
        blocks.push({ readings: 0, sum: 0, position: 0, counts: span <= MOST_CODES ? new Float64Array(span) : null });
      const block = blocks[b]!;
      const stop = Math.min(last, n + (b + 1) * each - at - 1);
      let blockSum = 0;
      let blockCross = 0;
      const { counts } = block;
      for (let i = n; i <= stop; i++) {
        const d = codes[i]! - smallest;
        blockSum += d;
        blockCross += d * (at + i - n - middle);
        if (counts !== null) counts[d]!++;
      }
      const used = stop - n + 1;
      block.readings += used;
      block.sum += blockSum;
      sum += blockSum;
      cross += blockCross;
      at += used;
      n = stop + 1;
    }
  }
  let start = 0;
  for (const block of blocks) {
    block.position = (start + (block.readings - 1) / 2 - middle) / Math.max(1, readings);
    start += block.readings;
    block.sum += block.readings * smallest;
  }
  const timeSquares = (readings * (readings * readings - 1)) / 12;
  return {
    readings,
    smallest,
    largest,
    mean: smallest + sum / readings,
    slope: readings >= 3 ? cross / timeSquares : 0,
    timeSquares,
    counts: countAll(codes, stretches, smallest, span, blocks),
    blocks,
  };
}

function countAll(
  codes: Int32Array,
  stretches: readonly Stretch[],
  smallest: number,
  span: number,
  blocks: readonly { counts: Float64Array | null }[],
): Float64Array | null {
  if (span > 2 ** 20) return null;
  const counts = new Float64Array(span);
  if (blocks[0]?.counts) {
    for (const block of blocks) for (let i = 0; i < span; i++) counts[i]! += block.counts![i]!;
    return counts;
  }
  for (const [first, last] of stretches) for (let n = first; n <= last; n++) counts[codes[n]! - smallest]!++;
  return counts;
}
