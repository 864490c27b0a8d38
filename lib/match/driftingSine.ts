import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { tQuantile } from "../signal/distributions.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { FALSE_ALARM } from "./context.ts";

/** How a sine's middle or amplitude moves through the record. */
export interface Course {
  readonly of: "middle" | "amplitude";
  /** Linear: from the first reading to the last. Settling: how far away it begins. LSB, positive upwards for the linear one. */
  readonly size: number;
  /** Time constant, share of the record; null where it moves evenly. */
  readonly timeConstant: number | null;
  /** What it explains of the sum of squares that the sine leaves. */
  readonly squares: number;
}

/** Courses, and what the sine with its harmonics leaves of the readings looked at before they are taken off. */
export interface Courses {
  readonly courses: readonly Course[];
  readonly rss: number;
  readonly readings: number;
}

/** A course over the record, t from 0 to 1. */
function shapeAt(t: number, timeConstant: number | null): number {
  return timeConstant === null ? t - 0.5 : Math.exp(-t / timeConstant);
}

/** The record is gathered in so many blocks of time, by bins of the sine's phase. */
const BLOCKS = 32;
const BINS = 16;
/** Readings of a block that are looked at. */
const MOST_EACH = 1 << 15;
/** Time constants of a warm-up, shares of the record; null for an even move. */
const TIME_CONSTANTS = [null, 0.025, 0.035, 0.05, 0.07, 0.1, 0.14, 0.2, 0.28, 0.4, 0.56];
/** Courses over the blocks, one after another. */
const SHAPES = Float64Array.from(
  TIME_CONSTANTS.flatMap((timeConstant) =>
    Array.from({ length: BLOCKS }, (_, b) => shapeAt((b + 0.5) / BLOCKS, timeConstant)),
  ),
);

/** Harmonics fitted along; a short record has fewer readings to spare. */
const harmonicsFor = (readings: number): number => (readings < 100 ? 2 : readings < 250 ? 3 : 5);

/**
 * Moves of a sine's middle and of its amplitude, even or settling, by least squares together with its harmonics and a small error of frequency, so that few cycles do too. Student's t with what
 * the fit leaves, enlarged where block means scatter more than white noise lets them, and chance FALSE_ALARM over all courses.
 * @param usable  between which values of the sine readings say something (away from a rail)
 */
export function sineCourses(codes: Int32Array, fit: SineFit, stretch: Stretch, usable: UsableCodes): Courses {
  const { sums, counts, squares, readings } = tableOf(codes, fit, stretch, usable);
  const { rank, rss, middle, amplitude } = kernels.fitCourses(sums, counts, squares, SHAPES, harmonicsFor(readings));
  const freedom = readings - rank - 1;
  if (freedom < 20) return { courses: [], rss: 0, readings };
  const needed = tQuantile(1 - FALSE_ALARM / (4 * TIME_CONSTANTS.length), Math.min(freedom, 200));
  const courses: Course[] = [];
  for (const [of, { shape, size, squares, scatter }] of [
    ["middle", middle],
    ["amplitude", amplitude],
  ] as const) {
    if (shape < 0 || Math.sqrt((squares * freedom) / (rss - squares)) < needed) continue;
    const variance = (rss - squares) / freedom;
    // Blocks scatter more about the course where the noise is not white.
    const coloured = Math.max(1, scatter / variance);
    if (Math.sqrt(squares / (variance * coloured)) > needed)
      courses.push({ of, size, timeConstant: TIME_CONSTANTS[shape]!, squares });
  }
  return { courses, rss, readings };
}

interface Table {
  readonly sums: Float64Array;
  readonly counts: Float64Array;
  readonly squares: number;
  readonly readings: number;
}

/** What the sine leaves, by block of time and by its phase: one pass over at most a million readings. */
function tableOf(codes: Int32Array, fit: SineFit, [first, last]: Stretch, usable: UsableCodes): Table {
  const sums = new Float64Array(BLOCKS * BINS);
  const counts = new Float64Array(BLOCKS * BINS);
  const length = last - first + 1;
  let squares = 0;
  let readings = 0;
  for (let b = 0; b < BLOCKS; b++) {
    const from = first + Math.round((b * length) / BLOCKS);
    const to = Math.min(first + Math.round(((b + 1) * length) / BLOCKS), from + MOST_EACH);
    const block = kernels.phaseCurve(codes.subarray(from, to), fit, from, usable.floor, usable.ceiling, BINS);
    sums.set(block.sums, b * BINS);
    counts.set(block.counts, b * BINS);
    squares += block.squares;
    readings += block.readings;
  }
  return { sums, counts, squares, readings };
}
