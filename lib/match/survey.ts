import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE, piecesOf } from "../signal/readingsOf.ts";

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
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  for (const { from, to } of piecesOf(readings)) {
    const extent = kernels.codeExtent(codes.subarray(from, to));
    min = Math.min(min, extent.lowest);
    max = Math.max(max, extent.highest);
  }
  const counts = readings > 0 && max - min < LARGEST_TABLE ? new Uint32Array(max - min + 1) : null;
  if (counts !== null)
    for (const { from, to } of piecesOf(readings, Math.max(MOST_AT_ONCE, counts.length)))
      kernels.addCodeCounts(codes.subarray(from, to), min, counts);
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
