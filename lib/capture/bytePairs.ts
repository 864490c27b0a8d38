import type { ReadingHints } from "../bench/bench.ts";
import { courseOf } from "./columnCourse.ts";
import { readName } from "./columnName.ts";
import { type Column, matches } from "./columnRoles.ts";

/**
 * Do two columns hold one reading as two bytes? By their names (msb, lsb), or because one runs through its byte while the other counts its rollovers.
 * @returns the order of the bytes as printed, or null when they are no byte pair
 */
export function bytePairOrder(columns: readonly Column[], hints: ReadingHints): "big-endian" | "little-endian" | null {
  if (hints.bytes !== undefined) return hints.bytes;
  const [first, second] = columns;
  if (columns.length !== 2 || first === undefined || second === undefined) return null;
  const a = first.facts.numbers;
  const b = second.facts.numbers;
  if (!isBytes(a) || !isBytes(b)) return null;
  // A person who names one of the columns knows what it is.
  if (columns.some((c) => matches(c, hints.channel) || matches(c, hints.sequence))) return null;
  const named = (c: Column, test: RegExp): boolean => c.named && readName(c.name).words.some((w) => test.test(w));
  const high = /^(?:hi|high|msb|upper|adch|h)$/;
  const low = /^(?:lo|low|lsb|lower|adcl|l)$/;
  if (named(first, high) && named(second, low)) return "big-endian";
  if (named(first, low) && named(second, high)) return "little-endian";
  if (first.named || second.named || countsBeside(a, b) || countsBeside(b, a)) return null;
  const order = pairOrder(a, b);
  if (order !== null) return order;
  // Two hexadecimal digits each, and one of them keeps to a converter's upper bits.
  const isByteWide = columns.every(
    (c) => c.facts.format.base === 16 && c.facts.fewestDigits === 2 && c.facts.mostDigits === 2,
  );
  return isByteWide ? smallHalf(a, b) : null;
}

/** Does one column count the lines, rolling over at 256, while the other moves also where it does not roll over? Of a ramp's two bytes the high one moves only there. */
function countsBeside(count: readonly number[], other: readonly number[]): boolean {
  if (courseOf(count).byOne < 0.98) return false;
  let moves = 0;
  let away = 0;
  for (let i = 1; i < other.length; i++) {
    if (!(Math.abs(other[i]! - other[i - 1]!) > 0)) continue;
    moves++;
    if (count[i]! > count[i - 1]!) away++;
  }
  return away > 0.5 * moves;
}

function isBytes(xs: readonly number[]): boolean {
  return xs.length > 0 && xs.every((x) => Number.isNaN(x) || (x >= 0 && x <= 255));
}

/**
 * The order of byte pairs by what they do: joined in the right order the readings run on smoothly where the low byte rolls over.
 * @param a, b  bytes as printed: first and second of each pair
 */
export function pairOrder(a: readonly number[], b: readonly number[]): "big-endian" | "little-endian" | null {
  const roll = (
    high: readonly number[],
    low: readonly number[],
  ): { joined: number; high: number; rolls: number; top: number } => {
    let joined = 0;
    let highOnly = 0;
    let rolls = 0;
    let top = 0;
    for (let i = 0; i < high.length; i++) {
      top = Math.max(top, high[i]!);
      if (i === 0) continue;
      const stepHigh = high[i]! - high[i - 1]!;
      joined += Math.abs(256 * stepHigh + low[i]! - low[i - 1]!);
      highOnly += 256 * Math.abs(stepHigh);
      if (stepHigh !== 0 && (low[i]! - low[i - 1]!) * stepHigh < 0) rolls++;
    }
    return { joined, high: highOnly, rolls, top };
  };
  const big = roll(a, b);
  const little = roll(b, a);
  const spread = (xs: readonly number[]): number => new Set(xs).size;
  const fits = (r: typeof big, other: typeof big, high: readonly number[], low: readonly number[]): boolean =>
    r.joined < 0.7 * other.joined && spread(high) < spread(low) && (r.rolls >= 2 || r.top <= 0x3f);
  if (spread(a) > 1 && fits(big, little, a, b) && big.rolls >= 1) return "big-endian";
  if (spread(b) > 1 && fits(little, big, b, a) && little.rolls >= 1) return "little-endian";
  return null;
}

/** Steady or narrow signals never roll over: then the byte that stays within a converter's upper bits is the high one. */
export function smallHalf(even: readonly number[], odd: readonly number[]): "big-endian" | "little-endian" | null {
  const top = (xs: readonly number[]): number => xs.reduce((a, b) => Math.max(a, b), 0);
  const kinds = (xs: readonly number[]): number => new Set(xs).size;
  if (top(even) <= 0x3f && top(odd) > 0x3f && kinds(even) <= kinds(odd)) return "big-endian";
  if (top(odd) <= 0x3f && top(even) > 0x3f && kinds(odd) <= kinds(even)) return "little-endian";
  return null;
}
