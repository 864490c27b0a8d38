import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { converterLsb } from "./converterLsb.ts";
import { statedLimits } from "./statedLimits.ts";
import { type StepLevel, stepLevels } from "./stepLevels.ts";

/** A level of a staircase that stands far from the line of the others. */
export interface OffLine {
  readonly level: StepLevel;
  /** Codes; negative where it reads low. */
  readonly by: number;
}

/** A staircase's levels about the line that most of them keep to. */
export interface LevelsOffLine {
  /** Of the line, codes a volt. */
  readonly slope: number;
  readonly levels: number;
  /** What converter and source account for, codes. */
  readonly allowed: number;
  /** By voltage, lowest first. */
  readonly off: readonly OffLine[];
  /** All of them are levels next to one end, and read nearer to the middle than they should. */
  readonly isEnd: boolean;
}

const FEWEST = 6;
/** What a converter in order may stand off its line: LSB of its own, or share of the range; at any rate no more than so many times what half of the levels stand off. */
const IN_ORDER = { lsb: 6, ofRange: 0.005, ofOthers: 8, least: 4 };
/** A level that still moves from its third quarter to its last has so many times this to go at most. */
const STILL_TO_GO = 4;
/** More levels than this share are no exceptions. */
const MOST_OFF = 0.35;

/**
 * Levels that stand further from the others' line than a converter in order puts them and source and settling account for: levels applied in another order than stated, or flattened by
 * something before the converter. No statistics: medians of many readings against 6 LSB or half a per cent of the range; inside the outermost levels also eight times what the levels usually
 * stand off (4 LSB at least: an S of 2 LSB leaves its ends as far off the middle's line).
 * The line is the median of slopes over half the levels, and of offsets, which a quarter of wild levels does not move.
 * Source: Theil 1950 (incomplete method); Siegel, Biometrika 69, 1982, for its breakdown; from memory.
 * @returns null where there are too few levels, or no line that most keep to
 */
export function levelsOffLine(record: CaptureRecord): LevelsOffLine | null {
  const { codes, scale, stimulus } = record;
  const levels = stepLevels(record)
    .map((level) => {
      const length = level.last - level.first + 1;
      const [half, last] = [level.last + 1 - (length >> 1), level.last + 1 - (length >> 2)];
      const code = median(codes.subarray(half, level.last + 1));
      const moves = length < 4 ? 0 : median(codes.subarray(last, level.last + 1)) - median(codes.subarray(half, last));
      return { level, code, moves };
    })
    .sort((a, b) => a.level.volts - b.level.volts);
  const count = levels.length;
  if (stimulus === null || new Set(levels.map((l) => l.level.volts)).size < FEWEST) return null;
  const half = count >> 1;
  const slopes: number[] = [];
  for (let i = 0; i + half < count; i++) {
    const [a, b] = [levels[i]!, levels[i + half]!];
    if (b.level.volts > a.level.volts) slopes.push((b.code - a.code) / (b.level.volts - a.level.volts));
  }
  const slope = median(slopes);
  const offset = median(levels.map((l) => l.code - slope * l.level.volts));
  const span = levels[count - 1]!.level.volts - levels[0]!.level.volts;
  const by = levels.map(({ level, code }) => code - offset - slope * level.volts);
  const lsb = converterLsb(record);
  const usual = median(by.map(Math.abs));
  const others =
    STILL_TO_GO * median(levels.map((l) => Math.abs(l.moves))) +
    statedLimits(stimulus, span / 2, levels[half]!.level.volts).amplitude / scale.lsb;
  const inOrder = Math.max(IN_ORDER.lsb * lsb, IN_ORDER.ofRange * (scale.topCode + 1));
  const within = Math.min(inOrder, Math.max(IN_ORDER.least * lsb, IN_ORDER.ofOthers * usual));
  const [lowest, highest] = [levels[0]!.level.volts, levels[count - 1]!.level.volts];
  const found = levels.map(({ level }, i) => ({
    level,
    by: by[i]!,
    // A converter bends most at its ends.
    allowed: others + (level.volts === lowest || level.volts === highest ? inOrder : within),
  }));
  const off = found.filter((l) => Math.abs(l.by) > l.allowed);
  if (slope > 0 && off.length > Math.max(2, MOST_OFF * count)) return null;
  const places = off.map((o) => levels.findIndex((l) => l.level === o.level));
  const isTop = off.every((o, i) => places[i] === count - off.length + i && o.by < 0);
  const isBottom = off.every((o, i) => places[i] === i && o.by > 0);
  const allowed = Math.max(0, ...off.map((o) => o.allowed));
  return { slope, levels: count, allowed, off, isEnd: slope > 0 && off.length > 0 && (isTop || isBottom) };
}
