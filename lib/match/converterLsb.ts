import type { CaptureRecord } from "../capture/record.ts";

/**
 * How many logged codes one LSB of the converter itself makes: 1, or the stretch of a firmware sum. What a converter in order may do wrong is so many of its own LSB.
 * @example converterLsb of 16 readings shifted down by 2 // 4
 */
export function converterLsb(record: Pick<CaptureRecord, "spec">): number {
  const { averaging } = record.spec.converter;
  return averaging === null ? 1 : Math.max(1, averaging.readings / 2 ** averaging.shift);
}
