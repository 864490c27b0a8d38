import { kernels } from "../kernels/kernels.generated.js";
import { median } from "../signal/median.ts";
import { FALSE_ALARM } from "./context.ts";

/** Noise that switches between two levels. */
export interface TwoLevels {
  readonly apart: number;
  readonly switches: number;
  /** What the levels explain of the squares, the price of the switches taken off. */
  readonly squares: number;
  /** Standard deviation about the levels, by the moves from one value to the next. */
  readonly noise: number;
  /** Whether stays on a level have that level's mean and are flat within: a hum, a drift or noise that wanders do not. */
  readonly isFlat: boolean;
  /** The level at a value. */
  readonly at: (i: number) => number;
}

/** Readings over which a first guess of the levels is averaged. */
const WIDTHS = [4, 16, 64, 256];
const ROUNDS = 4;
/** Moves from one value to the next that tell the noise. */
const MOST_MOVES = 2048;
/** Variance of averages, over that of white noise, below which nothing moves. */
const COLOURED = 1.5;
/** Share of what the levels explain that pieces may differ among themselves, and within themselves: half waves of a hum differ by an eighth. */
const UNLIKE = 0.06;
/** A shorter stay is an upset reading. */
const SHORTEST_STAY = 6;

/**
 * Two levels with white noise by dynamic programming (Viterbi): the course that leaves the least squares, each switch at a price of 2·ln(values) + 4, so that white noise buys none.
 * What the levels gain after that price must have a chance below FALSE_ALARM.
 * @param values  about zero, evenly spaced
 */
export function twoLevels(values: Float64Array): TwoLevels | null {
  const n = values.length;
  const sigma = noiseOf(values);
  const price = (2 * Math.log(n) + 4) * sigma * sigma;
  let best: ReturnType<typeof kernels.levelCourse> = null;
  for (const width of WIDTHS) {
    if (n < 8 * width) break;
    const spread = kernels.averagesSpread(values, width);
    if (spread ** 2 < (COLOURED * sigma ** 2) / width) continue;
    const course = kernels.levelCourse(values, spread, price, ROUNDS);
    if (course !== null && (best === null || course.gain > best.gain)) best = course;
  }
  if (best === null || best.gain < 2 * Math.log(WIDTHS.length / FALSE_ALARM) * sigma * sigma) return null;
  const { low, high, path } = best;
  const levels = [low, high] as const;
  const stays = staysOf(path);
  if (median(stays.map(([first, last]) => last - first + 1)) < SHORTEST_STAY) return null;
  return {
    apart: high - low,
    switches: stays.length - 1,
    squares: best.gain,
    noise: sigma,
    isFlat: areFlat(values, levels, path, stays, sigma),
    at: (i) => levels[path[i]!]!,
  };
}

/** Standard deviation of white noise in values that may move slowly, by the moves from one to the next; a quiet quantiser has 1/√12. */
function noiseOf(values: Float64Array): number {
  const stride = Math.ceil(values.length / MOST_MOVES);
  const moves = new Float64Array(Math.floor((values.length - 1) / stride));
  for (let i = 0; i < moves.length; i++) moves[i] = Math.abs(values[i * stride + 1]! - values[i * stride]!);
  return Math.max(0.29, (1.4826 * median(moves)) / Math.SQRT2);
}

/** A value or two that stand eight deviations apart from those before and after take the value before: upset readings are no stay on a level. */
export function withoutUpsets(values: Float64Array): Float64Array {
  return kernels.settledUpsets(values, 8 * noiseOf(values));
}

function staysOf(path: Uint8Array): [number, number][] {
  const stays: [number, number][] = [];
  let first = 0;
  for (let i = 1; i <= path.length; i++)
    if (i === path.length || path[i] !== path[i - 1]) {
      stays.push([first, i - 1]);
      first = i;
    }
  return stays;
}

/** Whether stays on a level have its mean, and their inner half that of their outer parts, as far as noise allows. */
function areFlat(
  values: Float64Array,
  levels: readonly [number, number],
  path: Uint8Array,
  stays: readonly (readonly [number, number])[],
  sigma: number,
): boolean {
  const half = (levels[1] - levels[0]) / 2;
  let [unlike, bent] = [0, 0];
  for (const [first, last] of stays) {
    const length = last - first + 1;
    const level = levels[path[first]!]!;
    const quarter = Math.floor(length / 4);
    let [all, inner] = [0, 0];
    for (let i = first; i <= last; i++) {
      all += values[i]! - level;
      if (i - first >= quarter && last - i >= quarter) inner += values[i]! - level;
    }
    const innerLength = length - 2 * quarter;
    unlike += all ** 2 / length - sigma ** 2;
    if (quarter > 0)
      bent +=
        (inner / innerLength - (all - inner) / (2 * quarter)) ** 2 / (1 / innerLength + 1 / (2 * quarter)) - sigma ** 2;
  }
  const allowed = UNLIKE * half ** 2 * values.length + 6 * sigma ** 2 * Math.sqrt(2 * stays.length);
  return unlike < allowed && bent < allowed;
}
