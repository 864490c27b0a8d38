import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { converterLsb } from "./converterLsb.ts";
import { median5, robustDeviation } from "./robust.ts";

/** More than this share is no handful of upset readings. */
const MOST_SHARE = 0.02;
/** Deviations of the bulk, and LSB, by which an upset reading stands off the median of its neighbours. */
const DEVIATIONS = 10;
const LSB = 4;
/** Readings from which the bulk's scatter is taken. */
const ASKED = 20_000;

/**
 * A sweep's codes with single upset readings put back among their neighbours: one of them moves means and medians of a steep sweep like a jump does. A median of five follows slopes
 * and jumps exactly, and lags by two readings where a triangle turns round.
 * @returns the record's own codes where there are none, or more than upsets would be
 */
export function withoutUpsets(record: Pick<CaptureRecord, "codes" | "spec">): Int32Array {
  const { codes } = record;
  if (codes.length < 32) return codes;
  const neighbours = (n: number): number =>
    median5(codes[n - 2]!, codes[n - 1]!, codes[n]!, codes[n + 1]!, codes[n + 2]!);
  const stride = Math.max(1, Math.floor(codes.length / ASKED));
  const away: number[] = [];
  const moves: number[] = [];
  for (let n = 2; n + 2 < codes.length; n += stride) {
    away.push(codes[n]! - neighbours(n));
    moves.push(Math.abs(codes[n]! - codes[n - 1]!));
  }
  const limit =
    DEVIATIONS * Math.max(0.3, 1.25 * robustDeviation(away, 0)) + LSB * converterLsb(record) + 2 * median(moves);
  let mended: Int32Array | null = null;
  let count = 0;
  for (let n = 2; n + 2 < codes.length; n++) {
    const between = neighbours(n);
    if (Math.abs(codes[n]! - between) <= limit) continue;
    mended ??= codes.slice();
    mended[n] = between;
    count++;
  }
  return mended === null || count > MOST_SHARE * codes.length ? codes : mended;
}
