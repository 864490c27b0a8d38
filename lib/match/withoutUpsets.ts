import type { CaptureRecord } from "../capture/record.ts";
import { converterLsb } from "./converterLsb.ts";
import { robustDeviation } from "./robust.ts";

/** More than this share is no handful of upset readings. */
const MOST_SHARE = 0.02;
/** Deviations of the bulk, and LSB, by which an upset reading stands off its neighbours. */
const DEVIATIONS = 10;
const LSB = 4;
/** Share of the range within which a reading at a rail has come there from its neighbours. */
const NEAR = 0.25;
/** Readings from which the bulk's scatter is taken. */
const ASKED = 20_000;

/**
 * A sweep's codes with single upset readings put back among their neighbours: one of them moves means and medians of a steep sweep like a jump does. A reading is held against
 * the lines through the two readings before, the two after and one of each; an upset one lies off all three, while one beside a jump or a turn lies on the line of its own side.
 * @returns the record's own codes where there are none, or more than upsets would be
 */
export function withoutUpsets(record: Pick<CaptureRecord, "codes" | "scale" | "spec">): Int32Array {
  const { codes, scale } = record;
  if (codes.length < 32) return codes;
  const top = scale.topCode;
  let mended = codes;
  let count = 0;
  // What stands before has been put right already.
  const before = (n: number): number => 2 * mended[n - 1]! - mended[n - 2]!;
  const after = (n: number): number => 2 * codes[n + 1]! - codes[n + 2]!;
  const between = (n: number): number => (mended[n - 1]! + codes[n + 1]!) / 2;
  const stride = Math.max(1, Math.floor(codes.length / ASKED));
  const sample: number[] = [];
  for (let n = 2; n + 2 < codes.length; n += stride) sample.push(codes[n]! - between(n));
  const limit = DEVIATIONS * Math.max(0.3, robustDeviation(sample, 0)) + LSB * converterLsb(record);
  for (let n = 2; n + 2 < codes.length; n++) {
    const y = codes[n]!;
    const away = Math.min(Math.abs(y - before(n)), Math.abs(y - between(n)), Math.abs(y - after(n)));
    if (away <= limit) continue;
    // An apex beyond a rail is cut off there.
    if ((y <= 0 || y >= top) && Math.abs(y - mended[n - 1]!) < NEAR * top && Math.abs(y - codes[n + 1]!) < NEAR * top)
      continue;
    if (mended === codes) mended = codes.slice();
    mended[n] = Math.round(between(n));
    count++;
  }
  return count > MOST_SHARE * codes.length ? codes : mended;
}
