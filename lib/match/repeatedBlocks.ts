import { FALSE_ALARM } from "./context.ts";
import type { PhaseStep } from "./phaseSteps.ts";
import type { UsableCodes } from "./usableCodes.ts";

/** A run of readings that shows earlier ones again, value for value. */
export interface RepeatedBlock {
  readonly first: number;
  readonly length: number;
  /** How many readings before stands the original. */
  readonly lag: number;
}

/** The tone of a sine record, so that its own period is told from a repetition. */
export interface Tone {
  readonly cyclesPerReading: number;
  readonly amplitude: number;
  readonly phase: number;
  /** rms about it over short pieces, codes. */
  readonly noise: number;
  /** Typical deviation from it over the whole record: noise, the converter's curve, and a phase that wanders; codes. */
  readonly deviation: number;
  /** Level, and the codes between which it shows: on rails and plateaus all readings are alike. */
  readonly offset: number;
  readonly usable: UsableCodes | null;
  /** Where its phase jumps, and by how much: readings across a loss must not be held against one sine. */
  readonly steps: readonly PhaseStep[];
}

/** Readings in the window whose pattern is looked up; a block of twice this is found for certain where one window in eight is kept. */
const WINDOW = 12;
/** Least changes of code in a window: a flat stretch repeats itself without any fault. */
const LEAST_CHANGES = 4;
const MOST_BLOCKS = 1000;
const TABLE = 1 << 18;

/**
 * Blocks that come twice. Windows of 12 readings are looked up by a rolling hash (Rabin and Karp), a share of them chosen by the hash itself so that
 * memory stays at 2 MB for any record; each hit is extended as far as the codes agree.
 * A periodic or quiet record agrees with itself without any fault. Of a tone the readings count that should differ by far more than noise. Otherwise the chance that a
 * reading agrees is measured in the record itself, at the same lag elsewhere and at neighbouring lags within the same readings; the mean of
 * unequal chances errs to the safe side (Jensen).
 * A block counts when its agreeing readings together have a chance below FALSE_ALARM over all readings.
 * @param tone   null for a stimulus that is no sine
 * @param isPeriodic  a triangle
 * @param alike  chance that two readings of the record, wherever they stand, are equal: Σp² over its codes; no block of a level can say more than this
 */
export function repeatedBlocks(
  codes: Int32Array,
  tone: Tone | null,
  alike: number,
  isPeriodic: boolean,
): RepeatedBlock[] {
  const readings = codes.length;
  if (readings < 3 * WINDOW) return [];
  const thin = Math.max(8, 2 ** Math.ceil(Math.log2(readings / 2 ** 17))) - 1;
  // Of each slot, the place of the last window with this hash (counted from 1) and the hash itself, side by side: one place in memory to look at.
  const table = new Int32Array(2 * TABLE);
  const found: RepeatedBlock[] = [];
  // The weight of the reading that leaves the window.
  let weight = 1;
  for (let i = 0; i < WINDOW; i++) weight = Math.imul(weight, 0x01000193);
  let hash = 0;
  let changes = 0;
  let lastEnd = -1;
  const needed = -Math.log(FALSE_ALARM / readings);
  for (let n = 0; n < readings; n++) {
    hash = (Math.imul(hash, 0x01000193) + codes[n]! + 1) | 0;
    if (n >= WINDOW) hash = (hash - Math.imul(weight, codes[n - WINDOW]! + 1)) | 0;
    if (n > 0 && codes[n] !== codes[n - 1]) changes++;
    if (n >= WINDOW && codes[n - WINDOW + 1] !== codes[n - WINDOW]) changes--;
    if (n < WINDOW || changes < LEAST_CHANGES) continue;
    const mixed = Math.imul(hash ^ (hash >>> 15), 0x2c1b3c6d);
    const spread = mixed ^ (mixed >>> 13);
    if ((spread & thin) !== 0) continue;
    const slot = 2 * ((spread >>> 8) & (TABLE - 1));
    const before = table[slot]! - 1;
    const same = before >= 0 && table[slot + 1] === hash;
    table[slot] = n + 1;
    table[slot + 1] = hash;
    if (!same || n <= lastEnd) continue;
    const lag = n - before;
    let first = n;
    while (first - lag >= 0 && first > lastEnd && codes[first] === codes[first - lag]) first--;
    first++;
    let last = n;
    while (last + 1 < readings && codes[last + 1] === codes[last + 1 - lag]) last++;
    if (last - first + 1 < WINDOW) continue;
    // A block repeated at once agrees over its own length only; one that agrees for longer than its lag is a period.
    lastEnd = last;
    if (tone !== null && last - first + 1 > 3 * lag) continue;
    if (tone === null && -(last - first + 1) * Math.log(alike) < needed) continue;
    // The period of a quiet triangle agrees in long runs; only lags at which it hardly ever agrees tell.
    if (isPeriodic && tone === null && agreementElsewhere(codes, first, last, lag) > PERIOD) continue;
    if (evidenceOf(codes, first, last, lag, tone, needed) > needed) {
      found.push({ first, length: last - first + 1, lag });
      if (found.length >= MOST_BLOCKS) break;
    }
  }
  return found;
}

/** A triangle that agrees with itself more often than this at some lag has its period there. */
const PERIOD = 0.05;
/** Readings of a block that are held against the tone. */
const MOST_ASKED = 64;
/** Equal readings that should differ; one may be an upset reading. */
const LEAST_TELLING = 4;
/** rms about the tone from which noise makes readings of the same phase differ: 0.3 LSB of noise and the quantiser's own. */
const NOISE_TELLS = 0.41;
/** Then readings of the same phase agree with at most this chance: 0.82 in the middle of a code at 0.3 LSB. */
const SAME_PHASE_CHANCE = 0.85;

/** −ln of the chance that readings first…last agree with those `lag` before without any repetition. */
function evidenceOf(
  codes: Int32Array,
  first: number,
  last: number,
  lag: number,
  tone: Tone | null,
  needed: number,
): number {
  const length = last - first + 1;
  if (tone === null)
    return (
      -length *
      Math.log(Math.max(agreementNearby(codes, first, last, lag), agreementElsewhere(codes, first, last, lag)))
    );
  // Where the tone itself says that the two readings differ by far more than noise, equality is no chance at all.
  const omega = 2 * Math.PI * tone.cyclesPerReading;
  const far = 8 * Math.max(tone.noise, tone.deviation) + 3;
  // Jumps between original and copy, but not the one that the repetition itself makes: a block sent twice at once, or one that ends in a jump back.
  const near = (step: PhaseStep, at: number): boolean => Math.abs(step.at - at) <= step.within + 3;
  const isCopy = length >= lag - 2 || tone.steps.some((step) => near(step, last + 1));
  let jumped = 0;
  for (const step of tone.steps)
    if (step.at > first - lag && step.at <= first + 3 && !(isCopy && near(step, first))) jumped += step.step;
  const floor = tone.usable?.floor ?? Number.NEGATIVE_INFINITY;
  const ceiling = tone.usable?.ceiling ?? Number.POSITIVE_INFINITY;
  const value = (theta: number): number =>
    Math.max(floor, Math.min(ceiling, tone.offset + tone.amplitude * Math.cos(theta)));
  // The original's phase is that of its own stretch.
  let before = tone.phase;
  for (const step of tone.steps) if (step.at <= first - lag) before += step.step;
  // The most that the lag alone can move the tone; then a sample of the readings tells.
  const most = 2 * tone.amplitude * Math.abs(Math.sin((omega * lag + jumped) / 2));
  let telling = 0;
  const stride = Math.max(1, Math.floor(length / MOST_ASKED));
  for (let i = first; most > far && i <= last; i += stride) {
    const now = value(omega * i + before + jumped);
    if (Math.abs(now - value(omega * (i - lag) + before)) > far) telling++;
  }
  if (telling >= LEAST_TELLING) return Number.POSITIVE_INFINITY;
  // A lag of whole periods: only noise can tell, and a quiet record has none.
  if (tone.noise < NOISE_TELLS || -length * Math.log(SAME_PHASE_CHANCE) < needed) return 0;
  // On a rail, or a quiet peak, readings are all alike: only where the code changes has noise had a say.
  let changes = 0;
  for (let i = first; i <= last; i++) if (i > 0 && codes[i] !== codes[i - 1]) changes++;
  return -changes * Math.log(Math.max(SAME_PHASE_CHANCE, agreementElsewhere(codes, first, last, lag)));
}

/** Upper estimate of a chance seen `agree` times in `of`: two standard deviations and one more. */
function upperShare(agree: number, of: number): number {
  return of < 20 ? 1 : Math.min(1, (agree + 2 * Math.sqrt(agree + 1) + 1) / (of + 1));
}

/** How often readings elsewhere agree with those `lag` before. */
function agreementElsewhere(codes: Int32Array, first: number, last: number, lag: number): number {
  let agree = 0;
  let of = 0;
  const stride = Math.max(1, Math.floor((codes.length - lag) / 8192));
  for (let i = lag + 1; i < codes.length; i += stride) {
    if (i >= first && i <= last) continue;
    of++;
    if (codes[i] === codes[i - lag]) agree++;
  }
  return upperShare(agree, of);
}

/** How often these readings agree with their neighbourhood `lag` before, a few readings off: what their level alone brings about. */
function agreementNearby(codes: Int32Array, first: number, last: number, lag: number): number {
  let agree = 0;
  let of = 0;
  for (let shift = 1; shift <= 6; shift++)
    for (const d of [lag - shift, lag + shift])
      for (let i = first; i <= last; i++) {
        if (d <= 0 || i - d < 0) continue;
        of++;
        if (codes[i] === codes[i - d]) agree++;
      }
  return upperShare(agree, of);
}
