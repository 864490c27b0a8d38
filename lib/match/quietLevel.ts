import { FALSE_ALARM } from "./context.ts";

/** A block of so many readings sent twice is of moderate size. */
const BLOCK = 64;

/**
 * Whether a level is so quiet that a block of 64 readings sent twice looks like readings that agree by chance: the rarity of its codes, −Σ p·ln p a reading, does not reach what
 * repeatedBlocks asks for. A lost reading of a level does not show in its codes at all.
 * @param counts  how often each code came
 * @example isQuiet([1000]) // true
 */
export function isQuiet(counts: readonly number[]): boolean {
  const readings = counts.reduce((sum, count) => sum + count, 0);
  const rarity = counts.reduce(
    (sum, count) => (count > 0 ? sum - (count / readings) * Math.log(count / readings) : sum),
    0,
  );
  return BLOCK * rarity < Math.log((readings * BLOCK) / FALSE_ALARM);
}
