import type { CaptureRecord } from "../capture/record.ts";

/** What one pass over a record's codes says about it; shared by the detectors so that the record is read as few times as possible. */
export interface Survey {
  readonly readings: number;
  readonly min: number;
  readonly max: number;
  /** Readings at or below code 0, and at or above the top code. */
  readonly atBottom: number;
  readonly atTop: number;
  /** Readings below 0 and above the top code. */
  readonly below: number;
  readonly above: number;
  /** Bits that are 1 in every code, and bits that are 1 in any. */
  readonly and: number;
  readonly or: number;
  readonly mean: number;
  /** How often each code from `min` on came; null where the codes spread too far for a table. */
  readonly counts: Uint32Array | null;
  /** Different codes seen; of a spread too wide for a table, at least this many. */
  readonly distinct: number;
}

/** Largest spread of codes that is counted in a table: four bytes a code. */
const LARGEST_TABLE = 1 << 20;

/** Two passes over the codes: extremes, then counts, which say all the rest; where the codes spread too far for a table, they say it themselves. */
export function survey(record: Pick<CaptureRecord, "codes" | "scale">): Survey {
  const { codes, scale } = record;
  const top = scale.topCode;
  const readings = codes.length;
  let min = readings > 0 ? codes[0]! : Number.POSITIVE_INFINITY;
  let max = readings > 0 ? codes[0]! : Number.NEGATIVE_INFINITY;
  for (let n = 0; n < readings; n++) {
    const y = codes[n]!;
    if (y < min) min = y;
    else if (y > max) max = y;
  }
  const counts = readings > 0 && max - min < LARGEST_TABLE ? new Uint32Array(max - min + 1) : null;
  if (counts !== null) for (let n = 0; n < readings; n++) counts[codes[n]! - min]!++;
  let atBottom = 0;
  let atTop = 0;
  let below = 0;
  let above = 0;
  let and = -1;
  let or = 0;
  let sum = 0;
  let distinct = counts === null ? new Set(codes.subarray(0, 10_000)).size : 0;
  for (let i = 0; i < (counts ?? codes).length; i++) {
    const times = counts === null ? 1 : counts[i]!;
    if (times === 0) continue;
    const y = counts === null ? codes[i]! : min + i;
    if (counts !== null) distinct++;
    and &= y;
    or |= y;
    sum += y * times;
    if (y <= 0) atBottom += times;
    else if (y >= top) atTop += times;
    if (y < 0) below += times;
    else if (y > top) above += times;
  }
  return { readings, min, max, atBottom, atTop, below, above, and, or, mean: sum / readings, counts, distinct };
}
