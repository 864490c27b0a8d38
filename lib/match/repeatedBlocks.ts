import { kernels } from "../kernels/kernels.generated.js";
import { joined } from "../signal/joined.ts";
import { piecesOf } from "../signal/readingsOf.ts";
import { agreementElsewhere, evidenceAgainstChance, isAllOrNothing } from "./chanceAgreement.ts";
import { FALSE_ALARM } from "./context.ts";
import { evidenceAgainstTone, type Tone } from "./repeatedTone.ts";
import type { Survey } from "./survey.ts";

/** A run of readings that shows earlier ones again, value for value. */
export interface RepeatedBlock {
  readonly first: number;
  readonly length: number;
  /** How many readings before stands the original. */
  readonly lag: number;
}

/** Readings in the window whose pattern is looked up. */
const WINDOW = 12;
/** One window in eight is enough to find blocks of some tens of readings; short records keep more, up to all, and long ones no more than the table holds well. */
const ONE_IN = 8;
const SHORT = 1 << 14;
const LONG = 1 << 17;
/** Least changes of code in a window: a flat stretch repeats itself without any fault. */
const LEAST_CHANGES = 4;
/** So many times the evidence is asked for where readings follow themselves: hum in phase decides some periods at once. */
const IN_PHASE = 4;
const MOST_BLOCKS = 1000;
const MOST_SLOTS = 1 << 18;
/** Lags that are gone through from end to end. */
const MOST_LAGS = 16;

/**
 * Blocks that come twice. Windows of 12 readings are looked up by a rolling hash (Rabin and Karp), a share of them chosen by the hash itself so that
 * memory stays within 2 MB for any record; each hit is extended as far as the codes agree.
 * A periodic or quiet record agrees with itself without any fault. Of a tone the readings count that should differ by far more than noise. Otherwise the chance that a
 * reading agrees is measured in the record itself (evidenceAgainstChance).
 * A block counts when its agreeing readings together have a chance below FALSE_ALARM over all readings; each lag has a share of it that falls with the lag, for a buffer that is
 * sent twice comes again at once.
 * @param tone   null for a stimulus that is no sine
 * @param isPeriodic  a triangle
 * @param remembers   whether readings follow themselves beyond their level, so that agreeing ones are no independent evidence
 * @param seen   how often each code came: no block can say more than the rarity of its codes
 */
export function repeatedBlocks(
  codes: Int32Array,
  tone: Tone | null,
  seen: Pick<Survey, "counts" | "min">,
  isPeriodic: boolean,
  remembers: () => boolean = () => false,
): RepeatedBlock[] {
  const readings = codes.length;
  if (readings < 3 * WINDOW) return [];
  const oneIn = (most: number): number => 2 ** Math.max(0, Math.ceil(Math.log2(readings / most)));
  const thin = Math.max(tone === null ? Math.min(ONE_IN, oneIn(SHORT)) : ONE_IN, oneIn(LONG)) - 1;
  const slots = Math.min(MOST_SLOTS, 2 ** Math.ceil(Math.log2(2 * readings)));
  const found: RepeatedBlock[] = [];
  let lastEnd = -1;
  let lastLag = 0;
  // Asked once for each lag.
  const sentAgain = new Map<number, boolean>();
  const isSentAgain = (lag: number): boolean => {
    const known = sentAgain.get(lag) ?? (sentAgain.size < MOST_LAGS && isAllOrNothing(codes, lag));
    sentAgain.set(lag, known);
    return known;
  };
  let foundEnd = -1;
  const chosen = piecesOf(readings).map(({ from, to }) => {
    const start = Math.max(0, from - WINDOW + 1);
    return kernels.chosenWindows(codes.subarray(start, to), WINDOW, LEAST_CHANGES, thin, start);
  });
  const again = kernels.windowsAgain(joined(Int32Array, chosen), slots);
  for (let k = 0; k < again.length; k += 2) {
    const n = again[k]!;
    const before = again[k + 1]!;
    const lag = n - before;
    // The same run again says nothing new.
    if (n <= foundEnd || (n <= lastEnd && (tone !== null || lag === lastLag))) continue;
    let first = n;
    while (first - lag >= 0 && first > foundEnd && codes[first] === codes[first - lag]) first--;
    first++;
    let last = n;
    while (last + 1 < readings && codes[last + 1] === codes[last + 1 - lag]) last++;
    if (last - first + 1 < WINDOW) continue;
    lastEnd = last;
    lastLag = lag;
    const needed = -Math.log(FALSE_ALARM / readings / (tone === null ? lag : 1));
    if (tone !== null) {
      // A block repeated at once agrees over its own length only; one that agrees for longer than its lag is a period.
      if (last - first + 1 > 3 * lag || evidenceAgainstTone(codes, first, last, lag, tone, needed) <= needed) continue;
    } else {
      if (rarity(codes, first, last, seen, needed) < needed) continue;
      // The period of a quiet triangle agrees in long runs; only lags at which it hardly ever agrees tell.
      if (isPeriodic && agreementElsewhere(codes, first, last, lag) > PERIOD) continue;
      const evidence = evidenceAgainstChance(codes, first, last, lag, needed, isSentAgain);
      if (evidence <= needed || (evidence <= IN_PHASE * needed && remembers())) continue;
    }
    found.push({ first, length: last - first + 1, lag });
    foundEnd = last;
    if (found.length >= MOST_BLOCKS) return found;
  }
  return found;
}

/** A triangle that agrees with itself more often than this at some lag has its period there. */
const PERIOD = 0.05;

/** −Σ ln of the codes' shares in the record, as far as it is needed. */
function rarity(
  codes: Int32Array,
  first: number,
  last: number,
  { counts, min }: Pick<Survey, "counts" | "min">,
  needed: number,
): number {
  if (counts === null) return Number.POSITIVE_INFINITY;
  let sum = 0;
  for (let i = first; i <= last && sum < needed; i++) sum -= Math.log(counts[codes[i]! - min]! / codes.length);
  return sum;
}
