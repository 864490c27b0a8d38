import type { CaptureRecord } from "../capture/record.ts";
import { normalCdf } from "../signal/distributions.ts";
import { fitLine } from "../signal/linearFit.ts";
import { FALSE_ALARM } from "./context.ts";
import { type StepLevel, stepLevels } from "./stepLevels.ts";

/** Spreads of the levels' codes about their line that are tried, codes. */
const SPREADS = [0.05, 0.15, 0.3, 0.5, 0.7, 1, 1.4, 2, 3, 5, 10, 30];
/** Shifts of the line that are tried, codes. */
const SHIFT = 0.25;
/** A bit more must be this much less likely by chance: one in twenty. */
const ONE_MORE = Math.log(20);
const FEWEST = 4;

/**
 * How many of the low bits stand still on a staircase beyond chance. Where levels have nothing to do with the codes' low bits each would show either value of each
 * bit: L levels agree in k bits with chance 2^(−kL). Levels that are set in whole multiples of some codes agree without any fault, so that the chance is the largest that any
 * scatter of the levels about their line, and any shift of the line, gives it; it must be below FALSE_ALARM.
 * @param lowest  bits below are not looked at
 * @param constant  how many bits from there on are the same in every code
 * @param value   the codes' value of these bits, those below included
 * @returns 0 where it may be chance
 */
export function lowBitsOfLevels(record: CaptureRecord, lowest: number, constant: number, value: number): number {
  if (record.stimulus?.kind !== "steps" || constant === 0) return 0;
  const levels = distinctLevels(stepLevels(record));
  if (levels.length < FEWEST) return 0;
  const line = fitLine(
    levels.map((l) => l.volts),
    levels.map((l) => l.mean),
  );
  const expected = levels.map((l) => line.intercept + line.slope * l.volts);
  let told = 0;
  let before = 0;
  for (let bits = 1; bits <= constant; bits++) {
    const period = 2 ** (lowest + bits);
    const evidence = -likeliest(expected, period, 2 ** lowest, ((value & (period - 1)) >> lowest) << lowest);
    if (evidence > -Math.log(FALSE_ALARM) && evidence - before > ONE_MORE) told = bits;
    before = evidence;
  }
  return told;
}

/** ln of the largest chance that codes about these values all lie in [residue, residue + width) modulo a period. */
function likeliest(expected: readonly number[], period: number, width: number, residue: number): number {
  let best = Number.NEGATIVE_INFINITY;
  for (const spread of SPREADS)
    for (let shift = -period / 2; shift < period / 2; shift += SHIFT * Math.max(1, width)) {
      let sum = 0;
      for (const x of expected) {
        sum += Math.log(Math.max(1e-12, chanceOf(x + shift, spread, period, width, residue)));
        if (sum < best) break;
      }
      best = Math.max(best, sum);
    }
  return best;
}

function chanceOf(x: number, spread: number, period: number, width: number, residue: number): number {
  if (spread > period) return width / period;
  // Middle of the nearest such codes; half a code on either side rounds to them.
  const away = x - (residue + (width - 1) / 2);
  const off = away - period * Math.round(away / period);
  let sum = 0;
  for (const k of [-2, -1, 0, 1, 2]) {
    const at = off + k * period;
    sum += normalCdf((at + width / 2) / spread) - normalCdf((at - width / 2) / spread);
  }
  return sum;
}

/** One of each voltage: a level that comes again says nothing new. */
function distinctLevels(levels: readonly StepLevel[]): StepLevel[] {
  return [...new Map(levels.map((l) => [l.volts, l])).values()];
}
