import type { CaptureRecord } from "../capture/record.ts";
import { piecewiseRemainder } from "./piecewiseRemainder.ts";

/** Readings looked at, and the longest period. */
const LOOKED_AT = 1 << 15;
const LONGEST = 64;
/** Correlation with readings some places before from which on what is left of the levels is no noise. */
const PERIODIC = 0.4;
/** Share of readings that are taken as they are; the rest are cut to the largest of these. */
const COMMON = 0.9;

/**
 * Whether what a staircase leaves of its levels follows itself after some readings, as hum does: agreeing readings are then no independent evidence, for a level that is visited
 * again in phase agrees for many periods.
 */
export function humOnLevels(record: CaptureRecord): boolean {
  const pieces = record.stimulus?.kind === "steps" ? piecewiseRemainder(record) : null;
  if (pieces === null) return false;
  const left = pieces.left.slice(0, LOOKED_AT);
  // A level in which readings are missing or come twice leaves far more than any noise.
  const most = left.map(Math.abs).sort()[Math.floor(COMMON * left.length)]!;
  let power = 0;
  for (let n = 0; n < left.length; n++) {
    left[n] = Math.max(-most, Math.min(most, left[n]!));
    power += left[n]! ** 2;
  }
  for (let lag = 1; lag <= LONGEST; lag++) {
    let together = 0;
    for (let n = lag; n < left.length; n++) together += left[n]! * left[n - lag]!;
    if (Math.abs(together) > PERIODIC * power) return true;
  }
  return false;
}
