import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { robustDeviation } from "./robust.ts";
import { listedLevels } from "./steppedLevels.ts";

/** From somewhere in a level on, listed levels come earlier than the list says. */
export interface LevelShift {
  /** Readings of the level in which some are missing. */
  readonly first: number;
  readonly last: number;
  /** By how many readings more than before. */
  readonly readings: number;
}

/** A step must stand clear of the noise: standard deviations, and codes. */
const CLEAR = { deviations: 10, codes: 10 };

/**
 * Levels of the bench file's list that are reached before their turn: readings are missing in a level before. At each step the last readings of a level that already
 * stand nearer to the next level are counted; steps of fewer than ten standard deviations and ten codes are passed over, so that noise does not count. A number that
 * stays the same over the whole record is a late start and no loss, and one that is not borne out by the next step is none either.
 */
export function levelShifts(record: CaptureRecord): LevelShift[] {
  const { stimulus, codes, appliedVolts } = record;
  if (stimulus?.kind !== "steps" || stimulus.levels === null || appliedVolts !== null) return [];
  const levels = listedLevels(stimulus.levels, stimulus.direction, codes.length);
  if (levels.length < 4) return [];
  const middles = levels.map(({ first, last }) => {
    const quarter = (last - first + 1) >> 2;
    const inner = codes.subarray(first + quarter, last + 1 - quarter);
    return { value: median(inner), spread: robustDeviation(inner) };
  });
  const seen: { level: number; shift: number }[] = [];
  for (let i = 0; i + 1 < levels.length; i++) {
    const [here, next] = [middles[i]!, middles[i + 1]!];
    const step = Math.abs(next.value - here.value);
    if (step < CLEAR.codes + CLEAR.deviations * Math.max(here.spread, next.spread, 0.3)) continue;
    let shift = 0;
    const { first, last } = levels[i]!;
    while (last - shift >= first && Math.abs(codes[last - shift]! - next.value) < 0.3 * step) shift++;
    seen.push({ level: i, shift });
  }
  const found: LevelShift[] = [];
  for (let j = 1; j < seen.length; j++) {
    const [before, now] = [seen[j - 1]!, seen[j]!];
    const more = now.shift - before.shift;
    const after = seen[j + 1];
    if (more > 0 && (after === undefined ? now.shift > 1 : after.shift >= now.shift))
      found.push({
        first: levels[before.level + 1]!.first - before.shift,
        last: levels[now.level]!.last - now.shift,
        readings: more,
      });
  }
  return found;
}
