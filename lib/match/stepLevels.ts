import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { steppedVolts } from "./steppedLevels.ts";

/** One stay at one level of a staircase. */
export interface StepLevel {
  readonly volts: number;
  /** Of the settled readings, codes. */
  readonly mean: number;
  /** The settled readings. */
  readonly first: number;
  readonly last: number;
}

/** Codes about a level's median within which its readings are its own. */
const NEAR = 32;

/** The levels of a staircase in the order of the record, their first quarter left out for settling; levels on a rail are left out. */
export function stepLevels(record: CaptureRecord): StepLevel[] {
  const volts = steppedVolts(record);
  if (volts === null) return [];
  const { codes, scale } = record;
  const levels: StepLevel[] = [];
  let start = 0;
  for (let n = 1; n <= codes.length; n++) {
    if (n < codes.length && volts[n] === volts[n - 1]) continue;
    const first = start + Math.floor((n - start) / 4);
    if (Number.isFinite(volts[start]!)) {
      // Readings of the next level, where some are missing before, do not enter a median.
      const middle = median(codes.subarray(first, n));
      let mean = 0;
      let near = 0;
      for (let i = first; i < n; i++)
        if (Math.abs(codes[i]! - middle) <= NEAR) {
          mean += codes[i]!;
          near++;
        }
      mean = near > 0 ? mean / near : middle;
      if (mean > 0.5 && mean < scale.topCode - 0.5) levels.push({ volts: volts[start]!, mean, first, last: n - 1 });
    }
    start = n;
  }
  return levels;
}
