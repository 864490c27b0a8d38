import type { CaptureRecord } from "../capture/record.ts";
import { fitLine, type LineFit } from "../signal/linearFit.ts";
import { type StepLevel, stepLevels } from "./stepLevels.ts";

/** A bit of less weight is lost among the converter's own errors. */
const LEAST_BIT = 2;
/** Levels that must need the other value of a bit, and their share of all. */
const LEAST_MOVED = { levels: 2, share: 0.12 };
/** A bit that never changes is needed by more levels at one end, or by others as well. */
const MOST_FLATTENED = 0.4;
/** Of fewer levels a line with a choice of weights leaves next to nothing by chance: of five, 2³ times less is one of ten choices at ten bits. */
const FEW_LEVELS = 7;
/** rms that a converter in order leaves about its line at most, codes. */
const IN_ORDER = 6;

/**
 * Whether a bit that is the same in every code must have changed between the levels of a staircase: with its weight put back where that brings a level nearer to
 * the line, the levels come at least twice as close to it. A level of a converter in order lies within some LSB of the line, so that putting four LSB or
 * more back never helps three of them: no statistics.
 */
export function isStuckOnSteps(record: CaptureRecord, bit: number, isOne: boolean): boolean {
  if (bit < LEAST_BIT) return false;
  const levels = stepLevels(record);
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
    // Two levels alone must agree the better; of five or six, weights put back at some of them bring any curve of a converter near some line.
    const better = levels.length < FEW_LEVELS ? 0.1 : count < 3 ? 0.25 : 0.5;
    if (!(count >= enough && count <= levels.length - 2 && after < better * before && after < IN_ORDER)) return false;
    return !isFlattened(levels, moved, count);
  });
}

/** Levels next to one end only, and fewer than a top bit would move: flattened ones. */
function isFlattened(levels: readonly StepLevel[], moved: readonly boolean[], count: number): boolean {
  if (count > MOST_FLATTENED * levels.length) return false;
  const order = levels.map((_, i) => i).sort((a, b) => levels[a]!.volts - levels[b]!.volts);
  return order.slice(0, count).every((i) => moved[i]) || order.slice(-count).every((i) => moved[i]);
}

type Line = Pick<LineFit, "slope" | "intercept">;

const valueAt = (line: Line, x: number): number => line.intercept + line.slope * x;

/** rms about a line, the largest tenth left out: a level on the edge of a bit is neither with its weight nor without it. */
function rms(levels: readonly StepLevel[], line: Line, added: (i: number) => number): number {
  const squares = levels.map((l, i) => (l.mean + added(i) - valueAt(line, l.volts)) ** 2).sort((a, b) => a - b);
  const kept = squares.slice(0, Math.max(3, Math.ceil(0.9 * squares.length)));
  return Math.sqrt(kept.reduce((sum, x) => sum + x, 0) / Math.max(1, kept.length - 2));
}
