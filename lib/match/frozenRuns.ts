import { median } from "../signal/median.ts";
import { normalCdf } from "../signal/normal.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";
import { equalRuns } from "./equalRuns.ts";

/** Readings that show one code although the signal had moved on. */
export interface FrozenRun {
  /** The reading that is shown again, and the last that shows it. */
  readonly first: number;
  readonly last: number;
  /** Codes that the signal moved meanwhile. */
  readonly moved: number;
}

/** How a signal moves. */
export interface Course {
  /** Alike everywhere, so that other runs tell how long one may be. */
  readonly isEven: boolean;
  /** Codes that it moves in so many readings at most: nothing shorter need be asked. */
  readonly most: (readings: number) => number;
  /** Codes that it covers over these readings, and the sum of squares about its mean; null where it cannot be told. */
  readonly over: (first: number, last: number) => { readonly moved: number; readonly squares: number } | null;
}

/** Readings of the shortest run that is judged: fewer are single stale readings. */
const SHORTEST = 4;
/** LSB that a signal moves at least: no code of a converter in order is so wide. */
const WIDEST_CODE = 4;
/** Runs at one code from which on they are a code that wide after all. */
const SAME_CODE = 2;
/** Times that a run must be longer than any other of an even signal or a level: hum may hold it up again and again. */
const LONGER = 1.5;
/** Noise that the quantiser makes at least, codes. */
const QUIETEST = 0.3;

/**
 * Runs of one code while the signal moves: a register that was read without a new conversion, or a loop that sent one reading again and again. Readings that do not follow leave the
 * signal's own squares about its mean, which noise takes away with a chance of exp(−Σ(x − x̄)²/2σ²).
 * The outermost codes are left out: a signal flattened there stands still as well. One pass; what the run should have shown is asked of runs that are long enough only.
 * @param lsb   codes to an LSB of the converter
 * @param ends  lowest and highest code of the record
 */
export function frozenRuns(
  codes: Int32Array,
  course: Course,
  noise: number,
  lsb: number,
  ends: { readonly min: number; readonly max: number },
): FrozenRun[] {
  const sigma = Math.max(QUIETEST, noise);
  const needed = 2 * sigma ** 2 * Math.log(codes.length / FALSE_ALARM);
  const least = WIDEST_CODE * lsb;
  let enough = SHORTEST;
  while (enough < codes.length && course.most(enough) < least) enough = Math.ceil(1.2 * enough);
  const beside = 2 + 3 * sigma;
  // The record's first and last run may be the source that had not begun or had stopped.
  const isInside = (first: number, end: number): boolean =>
    first > 0 && end < codes.length && codes[first]! > ends.min + beside && codes[first]! < ends.max - beside;
  const found: FrozenRun[] = [];
  for (const [first, end] of equalRuns(codes, enough)) {
    const should = isInside(first, end) ? course.over(first, end - 1) : null;
    if (should !== null && should.moved >= least && should.squares > needed)
      found.push({ first, last: end - 1, moved: should.moved });
  }
  let other = 0;
  if (course.isEven && found.length > 0) {
    const places = new Set(found.map((run) => run.first));
    // Shorter ones say nothing.
    const long = Math.floor(Math.min(...found.map(lengthOf)) / LONGER);
    for (const [first, end] of equalRuns(codes, long))
      if (!places.has(first) && isInside(first, end)) other = Math.max(other, end - first);
  }
  const runs = found.filter((run) => lengthOf(run) > LONGER * other);
  return runs.filter((run) => runs.filter((f) => codes[f.first] === codes[run.first]).length <= SAME_CODE);
}

const lengthOf = (run: FrozenRun): number => run.last - run.first + 1;

/** A sine that leaves more of its amplitude says nothing about single readings. */
const FOLLOWS = 0.3;

/** How a fitted sine moves; null where the record does not follow it. */
export function courseOfSine(fit: SineFit): Course | null {
  const { amplitude, cyclesPerReading, phase, residualRms } = fit;
  if (!(residualRms < FOLLOWS * amplitude)) return null;
  const at = (n: number): number => amplitude * Math.cos(2 * Math.PI * cyclesPerReading * n + phase);
  return {
    isEven: false,
    most: (readings) => 2 * amplitude * Math.sin(Math.PI * Math.min(0.5, cyclesPerReading * (readings - 1))),
    over: (first, last) => {
      let [sum, squares, low, high] = [0, 0, amplitude, -amplitude];
      for (let n = first; n <= last; n++) {
        const x = at(n);
        sum += x;
        squares += x * x;
        low = Math.min(low, x);
        high = Math.max(high, x);
      }
      return { moved: high - low, squares: squares - (sum * sum) / (last - first + 1) };
    },
  };
}

/** Share of its usual advance that a sweep must show on both sides of a run, over so many codes. */
const GOES_ON = 0.4;
const SHOWN = 16;

/** How a ramp or triangle moves, by its usual advance, codes a reading; it must move before and after. */
export function courseOfSweep(codes: Int32Array, advance: number, span: number): Course {
  return {
    isEven: true,
    most: (readings) => advance * (readings - 1),
    over: (first, last) => {
      const side = Math.min(last - first, Math.max(2, Math.ceil(SHOWN / advance)));
      if (first - side < 0 || last + 1 + side >= codes.length) return null;
      const moves = [codes[first]! - codes[first - side]!, codes[last + 1 + side]! - codes[last + 1]!];
      if (moves.some((move) => Math.abs(move) < GOES_ON * advance * side)) return null;
      const moved = Math.min(span, advance * (last - first));
      return { moved, squares: ((last - first + 1) * moved * moved) / 12 };
    },
  };
}

/** Longest runs of a level that are asked, the readings nearby from which the chance is taken, and those of the whole record. */
const ASKED = 4;
const NEARBY = 400;
const SAMPLED = 8192;
const LONG_RUN = 12;

/**
 * Runs of one code longer than the noise of a level allows: how often a reading equals the one before is measured for this code, nearby, where a drift leaves it as near to a
 * transition, and in the whole record; and worked out for noise as large as the record's about the middle of a wide code, where a drift or hum may have carried the level. The least telling
 * counts.
 */
export function frozenInNoise(codes: Int32Array): FrozenRun[] {
  const runs: FrozenRun[] = [];
  for (const [first, end] of equalRuns(codes, LONG_RUN)) {
    runs.push({ first, last: end - 1, moved: 0 });
    if (runs.length > 4 * ASKED) keepLongest(runs);
  }
  keepLongest(runs);
  const needed = Math.log(codes.length / FALSE_ALARM);
  const middle = runs.length === 0 ? 1 : 1 - 2 * normalCdf(-WIDE_CODE / 2 / noiseOf(codes));
  const found = runs
    .filter(({ first, last }) => {
      if (-Math.log(middle) * (last - first) < needed) return false;
      const near = staying(codes, first, last, Math.max(1, first - NEARBY), Math.min(codes.length, last + NEARBY), 1);
      if (-Math.log(near) * (last - first) < needed) return false;
      const stride = Math.max(1, Math.floor(codes.length / SAMPLED));
      return -Math.log(staying(codes, first, last, 1, codes.length, stride)) * (last - first) > needed;
    })
    .sort((a, b) => a.first - b.first);
  const other = Math.max(0, ...runs.filter((run) => !found.includes(run)).map(lengthOf));
  return found.filter((run) => lengthOf(run) > LONGER * other);
}

/** A wide code, LSB. */
const WIDE_CODE = 1.5;

/**
 * Noise from the differences of neighbours, averaged over places between two transitions, where the half of their mean square is σ/√π for little noise and σ² + 1/12 for much; steps
 * left out.
 */
function noiseOf(codes: Int32Array): number {
  const stride = Math.max(1, Math.floor(codes.length / SAMPLED));
  const moves: number[] = [];
  for (let n = 1; n < codes.length; n += stride) moves.push(Math.abs(codes[n]! - codes[n - 1]!));
  const usual = 6 + 9 * median(moves);
  let squares = 0;
  let count = 0;
  for (const move of moves) {
    if (move > usual) continue;
    squares += move * move;
    count++;
  }
  const half = squares / count / 2;
  return Math.max(
    1e-3,
    Math.min(half * Math.sqrt(Math.PI), Math.sqrt(Math.max(0, half - 1 / 12)) || Number.POSITIVE_INFINITY),
  );
}

function keepLongest(runs: FrozenRun[]): void {
  runs.sort((a, b) => b.last - b.first - (a.last - a.first));
  runs.length = Math.min(runs.length, ASKED);
}

/** Upper estimate of the chance that this run's code stays, from the readings from…to outside the run. */
function staying(codes: Int32Array, first: number, last: number, from: number, to: number, stride: number): number {
  let of = 0;
  let agree = 0;
  for (let n = from; n < to; n += stride) {
    if ((n >= first && n <= last + 1) || codes[n - 1] !== codes[first]) continue;
    of++;
    if (codes[n] === codes[n - 1]) agree++;
  }
  return Math.min(1, (agree + 2 * Math.sqrt(agree + 1) + 1) / (of + 1));
}
