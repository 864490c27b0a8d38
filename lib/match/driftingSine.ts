import type { Stretch } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { tQuantile } from "../signal/distributions.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";
import type { UsableCodes } from "./usableCodes.ts";

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

/** The record is gathered in so many blocks of time by so many bins of the sine's phase. */
const BLOCKS = 32;
const BINS = 16;
/** Readings of a block that are looked at. */
const MOST_EACH = 1 << 15;
/** Time constants of a warm-up, shares of the record. */
const TIME_CONSTANTS = [0.025, 0.035, 0.05, 0.07, 0.1, 0.14, 0.2, 0.28, 0.4, 0.56];
/** Courses over the blocks, and functions of the phase over the bins. */
const COURSES = [null, ...TIME_CONSTANTS].map((timeConstant) => ({
  timeConstant,
  shape: Float64Array.from({ length: BLOCKS }, (_, b) => shapeAt((b + 0.5) / BLOCKS, timeConstant)),
}));
const EVEN = COURSES[0]!.shape;
const ALWAYS = new Float64Array(BLOCKS).fill(1);
const ONE = new Float64Array(BINS).fill(1);
const overBins = (f: (phase: number) => number): Float64Array =>
  Float64Array.from({ length: BINS }, (_, i) => f((2 * Math.PI * (i + 0.5)) / BINS));
const COSINES = [1, 2, 3, 4, 5].map((h) => overBins((p) => Math.cos(h * p)));
const SINES = [1, 2, 3, 4, 5].map((h) => overBins((p) => Math.sin(h * p)));

/** A column over all cells: a course over the blocks times a function of the phase. */
function product(course: Float64Array, phase: Float64Array): Float64Array {
  const column = new Float64Array(BLOCKS * BINS);
  for (let b = 0; b < BLOCKS; b++) for (let i = 0; i < BINS; i++) column[b * BINS + i] = course[b]! * phase[i]!;
  return column;
}

/** Harmonics fitted along; a short record has fewer readings to spare. */
const harmonicsFor = (readings: number): number => (readings < 100 ? 2 : readings < 250 ? 3 : 5);

/**
 * Moves of a sine's middle and of its amplitude, even or settling, by least squares together with its harmonics and a small error of frequency, so that few cycles do too. Student's t with what
 * the fit leaves, enlarged where block means scatter more than white noise lets them, and chance FALSE_ALARM over all courses.
 * @param usable  between which values of the sine readings say something (away from a rail)
 */
export function sineCourses(codes: ArrayLike<number>, fit: SineFit, stretch: Stretch, usable: UsableCodes): Courses {
  const table = tableOf(codes, fit, stretch, usable);
  const { sums, counts, readings } = table;
  const cells = sums.length;
  const dot = (a: Float64Array, b: Float64Array): number => {
    let sum = 0;
    for (let i = 0; i < cells; i++) sum += a[i]! * b[i]! * counts[i]!;
    return sum;
  };
  const basis: Float64Array[] = [];
  /** Takes the basis off a column, in place; @returns what is left of its squares. */
  const orthogonal = (a: Float64Array): number => {
    for (const b of basis) {
      const along = dot(a, b);
      for (let i = 0; i < cells; i++) a[i]! -= along * b[i]!;
    }
    return dot(a, a);
  };
  const nuisances = [product(ALWAYS, ONE), product(EVEN, SINES[0]!)];
  for (let h = 0; h < harmonicsFor(readings); h++)
    nuisances.push(product(ALWAYS, COSINES[h]!), product(ALWAYS, SINES[h]!));
  for (const a of nuisances) {
    const before = dot(a, a);
    orthogonal(a);
    const left = orthogonal(a);
    if (left > 1e-3 * before) basis.push(a.map((x) => x / Math.sqrt(left)));
  }
  const freedom = readings - basis.length - 1;
  if (freedom < 20) return { courses: [], rss: 0, readings };
  const means = sums.map((s, i) => (counts[i]! > 0 ? s / counts[i]! : 0));
  const before = dot(means, means);
  const left = orthogonal(means);
  const rss = table.squares - before + left;

  const needed = tQuantile(1 - FALSE_ALARM / (4 * (1 + TIME_CONSTANTS.length)), Math.min(freedom, 200));
  const found: Course[] = [];
  for (const of of ["middle", "amplitude"] as const) {
    const weight = of === "middle" ? ONE : COSINES[0]!;
    let best: { squares: number; size: number; timeConstant: number | null; shape: Float64Array } | null = null;
    for (const { timeConstant, shape } of COURSES) {
      const a = product(shape, weight);
      const all = dot(a, a);
      let own = all;
      for (const b of basis) own -= dot(a, b) ** 2;
      if (own < 1e-3 * all) continue;
      // The remainder has no share of the basis any more, so that the column's own share need not be taken off.
      const along = dot(a, means);
      const squares = along ** 2 / own;
      if (best === null || squares > best.squares) best = { squares, size: along / own, timeConstant, shape };
    }
    if (best === null) continue;
    const { squares, size, timeConstant } = best;
    if (Math.sqrt((squares * freedom) / (rss - squares)) < needed) continue;
    const a = product(best.shape, weight);
    orthogonal(a);
    const variance = (rss - squares) / freedom;
    // Scatter of the blocks about the course, for noise that is not white.
    let scatter = 0;
    let used = 0;
    for (let b = 0; b < BLOCKS; b++) {
      let [sum, norm] = [0, 0];
      for (let i = b * BINS; i < (b + 1) * BINS; i++) {
        const w = weight[i % BINS]!;
        sum += counts[i]! * w * (means[i]! - size * a[i]!);
        norm += counts[i]! * w * w;
      }
      if (norm > 0) {
        scatter += sum ** 2 / norm;
        used++;
      }
    }
    const coloured = used > 4 ? Math.max(1, scatter / (used - 3) / variance) : 1;
    if (Math.sqrt(squares / (variance * coloured)) > needed) found.push({ of, size, timeConstant, squares });
  }
  return { courses: found, rss, readings };
}

interface Table {
  readonly sums: Float64Array;
  readonly counts: Float64Array;
  readonly squares: number;
  readonly readings: number;
}

/** What the sine leaves, by block of time and by its phase: one pass over at most a million readings. */
function tableOf(
  codes: ArrayLike<number>,
  fit: SineFit,
  [first, last]: Stretch,
  { floor, ceiling }: UsableCodes,
): Table {
  const sums = new Float64Array(BLOCKS * BINS);
  const counts = new Float64Array(BLOCKS * BINS);
  const sine = alongSine(fit);
  const start = fit.phase / (2 * Math.PI);
  const length = last - first + 1;
  let squares = 0;
  let readings = 0;
  for (let b = 0; b < BLOCKS; b++) {
    const from = first + Math.round((b * length) / BLOCKS);
    const to = Math.min(first + Math.round(((b + 1) * length) / BLOCKS), from + MOST_EACH);
    for (let n = from; n < to; n++) {
      const model = sine(n);
      if (model <= floor || model >= ceiling) continue;
      const turns = fit.cyclesPerReading * n + start;
      const cell = b * BINS + Math.min(BINS - 1, Math.floor((turns - Math.floor(turns)) * BINS));
      const left = codes[n]! - model;
      sums[cell]! += left;
      counts[cell]!++;
      squares += left * left;
      readings++;
    }
  }
  return { sums, counts, squares, readings };
}
