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

/** Two passes over the codes: extremes and bits, then counts. */
export function survey(record: Pick<CaptureRecord, "codes" | "scale">): Survey {
  const { codes, scale } = record;
  const top = scale.topCode;
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let atBottom = 0;
  let atTop = 0;
  let below = 0;
  let above = 0;
  let and = -1;
  let or = 0;
  let sum = 0;
  for (let n = 0; n < codes.length; n++) {
    const y = codes[n]!;
    if (y < min) min = y;
    if (y > max) max = y;
    and &= y;
    or |= y;
    sum += y;
    if (y <= 0) {
      atBottom++;
      if (y < 0) below++;
    } else if (y >= top) {
      atTop++;
      if (y > top) above++;
    }
  }
  let counts: Uint32Array | null = null;
  let distinct = 0;
  if (codes.length > 0 && max - min < LARGEST_TABLE) {
    counts = new Uint32Array(max - min + 1);
    for (let n = 0; n < codes.length; n++) counts[codes[n]! - min]!++;
    for (let i = 0; i < counts.length; i++) if (counts[i]! > 0) distinct++;
  } else distinct = new Set(codes.subarray(0, 10_000)).size;
  const readings = codes.length;
  return { readings, min, max, atBottom, atTop, below, above, and, or, mean: sum / readings, counts, distinct };
}
