import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { steppedVolts } from "./steppedLevels.ts";

/** Pieces into which one run of a ramp is cut at most, so that the converter's own curve goes with each piece's line. */
const LONGEST_RUN_PIECES = 8;
/** A shorter piece holds next to nothing once its line is off. */
const SHORTEST = 12;
/** The same of a level, of which only the mean is taken off. */
const SHORTEST_LEVEL = 5;
/** Share of its own span that a straight piece leaves at most. */
const TURNED = 0.1;
/** Codes that hum may leave whatever the span. */
const LEAST_TURNED = 6;

/**
 * What a ramp, triangle or staircase leaves: each straight piece less its own least-squares line, each level less its mean; 0 on rails, at turns and in
 * the first quarter of a level, where it may still settle. What moves less than once in a piece goes with the line.
 * @returns what is left, and the readings of a level whose mean was taken off; null where the pieces are too short to leave anything
 */
export function piecewiseRemainder(record: CaptureRecord): { left: Float64Array; level: number | null } | null {
  const { codes, stimulus, scale } = record;
  const left = new Float64Array(codes.length);
  let used = 0;
  const levels: number[] = [];
  const take = (first: number, last: number, isLevel: boolean): void => {
    const length = last - first + 1;
    if (length < (isLevel ? SHORTEST_LEVEL : SHORTEST)) return;
    if (isLevel) levels.push(length);
    const middle = (length - 1) / 2;
    let mean = 0;
    let sxy = 0;
    for (let i = 0; i < length; i++) {
      mean += codes[first + i]! / length;
      sxy += (i - middle) * codes[first + i]!;
    }
    const slope = isLevel ? 0 : sxy / ((length * (length * length - 1)) / 12);
    let squares = 0;
    for (let i = 0; i < length; i++) {
      const rest = codes[first + i]! - mean - slope * (i - middle);
      left[first + i] = rest;
      squares += rest * rest;
    }
    // A piece with a turn in it is no line.
    if (!isLevel && Math.sqrt(squares / length) > Math.max(LEAST_TURNED, TURNED * Math.abs(slope) * length))
      left.fill(0, first, last + 1);
    else used += length;
  };
  if (stimulus?.kind === "steps") {
    const volts = steppedVolts(record);
    if (volts === null) return null;
    let start = 0;
    for (let n = 1; n <= codes.length; n++) {
      if (n < codes.length && volts[n] === volts[n - 1]) continue;
      take(start + Math.ceil((n - start) / 4), n - 1, true);
      start = n;
    }
  } else if (stimulus?.kind === "ramp" || stimulus?.kind === "triangle") {
    const isRamp = stimulus.kind === "ramp";
    for (const [first, last] of straightRuns(codes, scale.topCode, isRamp)) {
      const pieces = isRamp ? LONGEST_RUN_PIECES : 1;
      const size = Math.floor((last - first + 1) / pieces);
      for (let p = 0; p < pieces; p++) take(first + p * size, first + (p + 1) * size - 1, false);
    }
  } else return null;
  return used < 0.4 * codes.length ? null : { left, level: levels.length === 0 ? null : median(levels) };
}

/** Stretches between the turns of a triangle, or the whole ramp, away from the rails. Turns are where the signal passes far from the middle. */
function straightRuns(codes: Int32Array, top: number, isRamp: boolean): [number, number][] {
  // Rails, and what noise makes of them and of the turns, are left out.
  const [low, high] = [0.04 * top, 0.96 * top];
  const runs: [number, number][] = [];
  let first = -1;
  for (let n = 0; n <= codes.length; n++) {
    const inside = n < codes.length && codes[n]! > low && codes[n]! < high;
    if (inside && first < 0) first = n;
    if (!inside && first >= 0) {
      runs.push([first, n - 1]);
      first = -1;
    }
  }
  if (!isRamp) return runs;
  // Upset readings do not cut a ramp.
  return runs.length === 0 ? [] : [[runs[0]![0], runs.at(-1)![1]]];
}
