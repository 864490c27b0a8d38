import type { CaptureRecord } from "../capture/record.ts";
import { fitLine, type LineFit } from "../signal/linearFit.ts";
import { median } from "../signal/median.ts";
import { steppedVolts } from "./steppedLevels.ts";

/** What is held against a level: one reading of it, at least. */
interface Level {
  readonly volts: number;
  readonly mean: number;
  readonly first: number;
  readonly last: number;
}

/** A bit of less weight is lost among the converter's own errors. */
const LEAST_BIT = 2;
/** Levels that must need the other value of a bit, and their share of all. */
const LEAST_MOVED = { levels: 2, share: 0.12 };
/** rms that a converter in order leaves about its line at most, codes. */
const IN_ORDER = 6;

/**
 * Whether a bit that is the same in every code must have changed between the levels of a staircase: with its weight put back where that brings a level nearer to
 * the line, the levels come at least twice as close to it. A level of a converter in order lies within some LSB of the line, so that putting four LSB or
 * more back never helps three of them: no statistics.
 */
export function isStuckOnSteps(record: CaptureRecord, bit: number, isOne: boolean): boolean {
  if (bit < LEAST_BIT) return false;
  const levels = levelsOf(record);
  const volts = levels.map((l) => l.volts);
  if (levels.length < 5 || volts.every((v) => v === volts[0])) return false;
  const { scale } = record;
  const weight = (isOne ? -1 : 1) * 2 ** bit;
  const stated = { slope: 1 / scale.lsb, intercept: -scale.low / scale.lsb };
  const plain = fitLine(
    volts,
    levels.map((l) => l.mean),
  );
  const before = rms(levels, plain, () => 0);
  // Where half of the levels lack the weight the plain line lies half of it off.
  const shifted = { ...plain, intercept: plain.intercept + weight / 2 };
  return [stated, plain, shifted].some((start) => {
    let line: Line = start;
    let moved: boolean[] = [];
    for (let round = 0; round < 10; round++) {
      const at = line;
      moved = levels.map(
        ({ volts, mean }) => Math.abs(mean + weight - valueAt(at, volts)) < Math.abs(mean - valueAt(at, volts)),
      );
      line = fitLine(
        volts,
        levels.map((l, i) => l.mean + (moved[i] ? weight : 0)),
      );
    }
    const count = moved.filter(Boolean).length;
    const after = rms(levels, line, (i) => (moved[i] ? weight : 0));
    const enough = Math.max(LEAST_MOVED.levels, LEAST_MOVED.share * levels.length);
    // Two levels alone must agree the better.
    const better = count < 3 ? 0.25 : 0.5;
    return count >= enough && count <= levels.length - 2 && after < better * before && after < IN_ORDER;
  });
}

/** Noise does not pass over more than this; a low byte in the high one's place would look alike. */
const HIGHEST = 4;
/** Times that each value above a bit must come. */
const VISITS = 3;

/**
 * Whether noise alone takes the readings of a level past both values of a bit that is the same in every code: three values above it in a row on a steady record (two
 * gaps of the bit's width between codes that come), or two in a row on three levels of a staircase. One gap may be a missing code; the noise
 * of a level passes over none that exists.
 */
export function isStuckInNoise(record: CaptureRecord, bit: number): boolean {
  if (bit > HIGHEST) return false;
  const kind = record.stimulus?.kind;
  if (kind === "steady") return longestRow(record.codes, 0, record.codes.length - 1, bit) >= 3;
  if (kind !== "steps") return false;
  return levelsOf(record).filter(({ first, last }) => longestRow(record.codes, first, last, bit) >= 2).length >= 3;
}

/** How many values above a bit came in a row, each more than once or twice. */
function longestRow(codes: Int32Array, first: number, last: number, bit: number): number {
  const seen = new Map<number, number>();
  for (let n = first; n <= last; n++) {
    const above = codes[n]! >> (bit + 1);
    seen.set(above, (seen.get(above) ?? 0) + 1);
    if (seen.size > 4096) return 0;
  }
  let longest = 0;
  let run = 0;
  let before = Number.NaN;
  for (const [above, count] of [...seen].sort((a, b) => a[0] - b[0])) {
    if (count < VISITS) continue;
    run = above === before + 1 ? run + 1 : 1;
    before = above;
    longest = Math.max(longest, run);
  }
  return longest;
}

/** Codes about a level's median within which its readings are its own. */
const NEAR = 32;

/** The levels of a staircase, their first quarter left out for settling, and those on a rail. */
function levelsOf(record: CaptureRecord): Level[] {
  const volts = steppedVolts(record);
  if (volts === null) return [];
  const { codes, scale } = record;
  const levels: Level[] = [];
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

type Line = Pick<LineFit, "slope" | "intercept">;

const valueAt = (line: Line, x: number): number => line.intercept + line.slope * x;

/** rms about a line, the largest tenth left out: a level on the edge of a bit is neither with its weight nor without it. */
function rms(levels: readonly Level[], line: Line, added: (i: number) => number): number {
  const squares = levels.map((l, i) => (l.mean + added(i) - valueAt(line, l.volts)) ** 2).sort((a, b) => a - b);
  const kept = squares.slice(0, Math.max(3, Math.ceil(0.9 * squares.length)));
  return Math.sqrt(kept.reduce((sum, x) => sum + x, 0) / Math.max(1, kept.length - 2));
}
