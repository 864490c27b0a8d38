import type { CaptureRecord } from "../capture/record.ts";

/** What one pass over a record's codes says about it; shared by the detectors so that the record is read as few times as possible. */
export interface Survey {
  readonly readings: number;
  readonly min: number;
  readonly max: number;
  /** Readings at or below code 0, and at or above the top code. */
  readonly atBottom: number;
  readonly atTop: number;
  /** Readings outside 0…topCode. */
  readonly outside: number;
}

/** One pass over the codes. */
export function survey(record: Pick<CaptureRecord, "codes" | "scale">): Survey {
  const { codes, scale } = record;
  const top = scale.topCode;
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let atBottom = 0;
  let atTop = 0;
  let outside = 0;
  for (let n = 0; n < codes.length; n++) {
    const y = codes[n]!;
    if (y < min) min = y;
    if (y > max) max = y;
    if (y <= 0) {
      atBottom++;
      if (y < 0) outside++;
    } else if (y >= top) {
      atTop++;
      if (y > top) outside++;
    }
  }
  return { readings: codes.length, min, max, atBottom, atTop, outside };
}
