import { FALSE_ALARM } from "./context.ts";

/** A run of readings that shows earlier ones again, value for value. */
export interface RepeatedBlock {
  readonly first: number;
  readonly length: number;
  /** How many readings before stands the original. */
  readonly lag: number;
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
 * A periodic or quiet record agrees with itself without any fault: the chance that a reading agrees is measured in the record itself, at the places where the code
 * changes: at the same lag elsewhere (periodic signals), or at neighbouring lags within the same readings (`level`: steady and stepped signals).
 * A block counts when all its agreeing changes together have a chance below FALSE_ALARM over all readings.
 */
export function repeatedBlocks(codes: Int32Array, kind: "periodic" | "level" | "ramp"): RepeatedBlock[] {
  const readings = codes.length;
  if (readings < 3 * WINDOW) return [];
  const thin = Math.max(8, 2 ** Math.ceil(Math.log2(readings / 2 ** 17))) - 1;
  const positions = new Int32Array(TABLE).fill(-1);
  const keys = new Int32Array(TABLE);
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
    const slot = (spread >>> 8) & (TABLE - 1);
    const before = positions[slot]!;
    const same = before >= 0 && keys[slot] === hash;
    positions[slot] = n;
    keys[slot] = hash;
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
    if (last - first + 1 > lag && kind === "periodic" && last - first + 1 > 3 * lag) continue;
    let agreeing = 0;
    for (let i = first; i <= last; i++) if (i > 0 && codes[i] !== codes[i - 1]) agreeing++;
    const chance = chanceOfAgreement(codes, first, last, lag, kind);
    if (-agreeing * Math.log(chance) > needed) {
      found.push({ first, length: last - first + 1, lag });
      if (found.length >= MOST_BLOCKS) break;
    }
  }
  return found;
}

/** Upper estimate of the chance that a reading at a change of code agrees with the one `lag` before, without any repetition. */
function chanceOfAgreement(
  codes: Int32Array,
  first: number,
  last: number,
  lag: number,
  kind: "periodic" | "level" | "ramp",
): number {
  const upper = (agree: number, of: number): number => Math.min(1, (agree + 2 * Math.sqrt(agree + 1) + 1) / (of + 1));
  let elsewhere = 0;
  if (kind !== "level") {
    let agree = 0;
    let of = 0;
    const room = codes.length - lag;
    const stride = Math.max(1, Math.floor(room / 8192));
    for (let i = lag + 1; i < codes.length; i += stride) {
      if (i >= first && i <= last) continue;
      if (codes[i] === codes[i - 1]) continue;
      of++;
      if (codes[i] === codes[i - lag]) agree++;
    }
    elsewhere = of < 20 ? 1 : upper(agree, of);
  }
  if (kind === "periodic") return elsewhere;
  let agree = 0;
  let of = 0;
  for (let shift = 1; shift <= 6; shift++)
    for (const d of [lag - shift, lag + shift])
      for (let i = first; i <= last; i++) {
        if (d <= 0 || i - d < 0 || i === 0 || codes[i] === codes[i - 1]) continue;
        of++;
        if (codes[i] === codes[i - d]) agree++;
      }
  return Math.max(elsewhere, of < 20 ? 1 : upper(agree, of));
}
