import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { listedLevels } from "./steppedLevels.ts";

/** One loss that brings a record back in line with the bench file's list of levels. */
export interface ListedShift {
  /** Between these readings the loss lies; where a level lasts nothing tells more exactly. */
  readonly first: number;
  readonly last: number;
  /** Readings missing. */
  readonly readings: number;
}

/** Counts of lost readings that are tried, at most, and products of counts and readings. */
const MOST_MISSING = 1000;
const MOST_WORK = 2e7;
/** A reading that stands further than this share of the smallest step from its level is out of place. */
const OUT_OF_PLACE = 0.4;
/** Readings that must come into place by the shift, and the share of those out of place before that may stay so. */
const LEAST_MENDED = 4;
const MOST_LEFT = 0.15;

/**
 * The number of readings, and the place, whose loss puts the readings of a staircase back on their listed levels. Each reading is held against the level that the list
 * names for it, as a line through all levels gives it in codes; out of place is one nearer to the next level than noise or settling leaves it. With one loss all
 * readings before it stand by the list, and all after it by the list that many readings later.
 * @returns null where nothing is out of place, or no one loss mends it: then it is not a loss, or there are several
 */
export function listedShift(record: CaptureRecord): ListedShift | null {
  const { stimulus, codes, appliedVolts, scale } = record;
  if (stimulus?.kind !== "steps" || stimulus.levels === null || appliedVolts !== null || codes.length < 16) return null;
  const total = stimulus.levels.reduce((sum, l) => sum + l.readings, 0);
  // The list may be walked both ways and turns where it turns; by how much a record is short tells nothing then.
  const walk = listedLevels(stimulus.levels, stimulus.direction, Math.max(codes.length, total));
  if (walk.length < 4) return null;
  const expected = new Float64Array(walk.at(-1)!.last + 1);
  for (const { applied, first, last } of walk)
    expected.fill((applied - scale.low) / scale.lsb - scale.firstTransition + 0.5, first, last + 1);
  const levelAt = (n: number): number => expected[Math.min(n, expected.length - 1)]!;
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < walk.length; i++)
    step = Math.min(step, Math.abs(walk[i]!.applied - walk[i - 1]!.applied) / scale.lsb);
  // Offset of the chain: what the readings have in common.
  const away = new Float64Array(codes.length);
  for (let n = 0; n < away.length; n++) away[n] = codes[n]! - levelAt(n);
  const shared = median(away);
  const common = Math.abs(shared) < 0.25 * step ? shared : 0;
  const far = OUT_OF_PLACE * step;
  const isOut = (n: number, shift: number): boolean => Math.abs(codes[n]! - common - levelAt(n + shift)) > far;
  const out = new Uint32Array(codes.length + 1);
  for (let n = 0; n < codes.length; n++) out[n + 1] = out[n]! + (isOut(n, 0) ? 1 : 0);
  const before = out[codes.length]!;
  if (before < LEAST_MENDED) return null;
  const most = Math.min(MOST_MISSING, Math.floor(expected.length / 2), Math.floor(MOST_WORK / codes.length));
  let best: ListedShift | null = null;
  let least = before;
  for (let missing = 1; missing <= most; missing++) {
    // From the end: readings from n on by the shifted list, those before by the list as it stands.
    let after = 0;
    let cost = out[codes.length]!;
    let first = codes.length;
    let last = codes.length;
    for (let n = codes.length - 1; n > 0; n--) {
      if (isOut(n, missing)) after++;
      const here = out[n]! + after;
      if (here < cost) {
        cost = here;
        first = n;
        last = n;
      } else if (here === cost) first = n;
    }
    if (cost < least) {
      least = cost;
      best = { first, last, readings: missing };
    }
  }
  // Readings before the loss must stand by the list: an offset of a whole step puts all of them out of place, from the first on.
  if (best !== null && (best.last < 2 * LEAST_MENDED || out[best.last]! > MOST_LEFT * best.last)) return null;
  return best !== null && before - least >= LEAST_MENDED && least <= MOST_LEFT * before ? best : null;
}
