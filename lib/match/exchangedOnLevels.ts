import type { CaptureRecord } from "../capture/record.ts";
import { fitLine } from "../signal/linearFit.ts";
import { median } from "../signal/median.ts";
import { exchanges, type Rereading } from "./rereadings.ts";
import { stepLevels } from "./stepLevels.ts";

/** Lines above this are told by the levels' own straight line. */
const HIGHEST = 6;
/** Readings of a level that are looked at. */
const LOOKED_AT = 256;
/** An upset reading counts for no more than this, codes. */
const MOST = 128;
/** Of the readings' scatter within their levels, what an exchange of lines must leave at most: by number of readings. */
const ENOUGH = { readings: 512, many: 0.7, few: 0.4 };
/** Levels within which readings must come together, and how near: this share of their scatter. */
const LEAST_LEVELS = 2;
const LESS = 0.7;
/** rms of the levels about their line that a converter's own curve accounts for, codes; a twentieth of the power must be all that is left, of so many levels. */
const CURVE = 2.5;
const STRAIGHT = { share: 0.05, levels: 6 };

/**
 * Two low data lines exchanged, seen on a staircase within its levels: noise moves a reading to the next code, which an exchange sends some codes away. The codes of a level
 * in order lie in a row with one peak, and no exchange brings them closer together than they are, so that the threshold only has to stand clear of
 * chance: the scatter of 512 readings is known to some 5 %, and some twenty pairs are tried. The levels must lie at least as near to their line with the lines put right,
 * or they lie on it only then.
 * @returns null where nothing speaks for an exchange
 */
export function exchangedOnLevels(record: CaptureRecord): Rereading | null {
  if (record.stimulus?.kind !== "steps") return null;
  const levels = stepLevels(record).map(({ volts, first, last }) => ({
    volts,
    codes: record.codes.subarray(Math.max(first, last + 1 - LOOKED_AT), last + 1),
  }));
  const readings = levels.reduce((sum, l) => sum + l.codes.length, 0);
  if (levels.length < 4 || readings < 64) return null;
  const seenThrough = (apply: (code: number) => number): { scatter: number[]; bend: number } => {
    const scatter: number[] = [];
    const middles: number[] = [];
    for (const { codes } of levels) {
      const values = codes.map(apply);
      const middle = median(values);
      let [sum, near, count] = [0, 0, 0];
      for (const y of values) {
        const away = Math.abs(y - middle);
        sum += Math.min(MOST, away);
        if (away < MOST) {
          near += y;
          count++;
        }
      }
      scatter.push(sum);
      middles.push(count > 0 ? near / count : middle);
    }
    const volts = levels.map((l) => l.volts);
    const line = fitLine(volts, middles);
    const bend = middles.reduce((sum, y, i) => sum + (y - line.intercept - line.slope * volts[i]!) ** 2, 0);
    return { scatter, bend };
  };
  const total = (scatter: readonly number[]): number => scatter.reduce((a, b) => a + b, 0);
  const now = seenThrough((y) => y);
  const before = total(now.scatter);
  let best: { reading: Rereading; left: number } | null = null;
  for (const reading of exchanges(HIGHEST + 1)) {
    const { scatter, bend } = seenThrough(reading.apply);
    const left = total(scatter);
    const together = scatter.filter((s, i) => s < LESS * now.scatter[i]!).length;
    const isTogether =
      left < (readings < ENOUGH.readings ? ENOUGH.few : ENOUGH.many) * before && together >= LEAST_LEVELS;
    const isStraight =
      levels.length >= STRAIGHT.levels && now.bend > levels.length * CURVE ** 2 && bend < STRAIGHT.share * now.bend;
    if (bend > now.bend || !(isTogether || isStraight)) continue;
    if (best === null || left < best.left) best = { reading, left };
  }
  return best?.reading ?? null;
}
