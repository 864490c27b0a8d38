import { alongSine } from "../signal/alongSine.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import type { UsableCodes } from "./usableCodes.ts";

/** What a sine leaves of a record, gathered by the sine's phase. */
export interface PhaseCurve {
  /** Sum of the remainder in each bin of phase, codes; bin i holds phases from i/BINS to (i + 1)/BINS of a turn. */
  readonly sums: Float64Array;
  readonly counts: Float64Array;
  /** Sum of all squares, what scatters inside the bins included. */
  readonly squares: number;
  readonly readings: number;
}

/** A basis function changes so little within a 256th of a turn that its value at the middle stands for the bin. */
const BINS = 256;
const COSINES = Float64Array.from({ length: BINS }, (_, i) => Math.cos((2 * Math.PI * (i + 0.5)) / BINS));

/** Folds readings first…last about a fitted sine: one pass. Where the sine itself leaves the usable codes (near a rail), nothing is folded. */
export function phaseCurve(
  codes: ArrayLike<number>,
  fit: Pick<SineFit, "cyclesPerReading" | "phase" | "amplitude" | "offset">,
  first: number,
  last: number,
  { floor, ceiling }: UsableCodes,
): PhaseCurve {
  const sums = new Float64Array(BINS);
  const counts = new Float64Array(BINS);
  const sine = alongSine(fit);
  const start = fit.phase / (2 * Math.PI);
  let squares = 0;
  let readings = 0;
  for (let n = first; n <= last; n++) {
    const model = sine(n);
    if (model <= floor || model >= ceiling) continue;
    const left = codes[n]! - model;
    const turns = fit.cyclesPerReading * n + start;
    const bin = Math.min(BINS - 1, Math.floor((turns - Math.floor(turns)) * BINS));
    sums[bin]! += left;
    counts[bin]!++;
    squares += left * left;
    readings++;
  }
  return { sums, counts, squares, readings };
}

/** A function of the phase at the middle of each bin. */
export function overPhase(f: (cosine: number) => number): Float64Array {
  return COSINES.map(f);
}

/** cos and sin of `order` times the phase. */
export function harmonic(order: number): readonly [Float64Array, Float64Array] {
  const at = (i: number): number => (2 * Math.PI * order * (i + 0.5)) / BINS;
  return [
    Float64Array.from({ length: BINS }, (_, i) => Math.cos(at(i))),
    Float64Array.from({ length: BINS }, (_, i) => Math.sin(at(i))),
  ];
}

/** Least squares of some columns over the bins: their coefficients, and what they explain of the squares. Null where they cannot be told apart. */
export function explained(
  { sums, counts }: PhaseCurve,
  columns: readonly Float64Array[],
): { readonly x: Float64Array; readonly squares: number } | null {
  const p = columns.length;
  const H = new Float64Array(p * p);
  const g = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    const a = columns[i]!;
    for (let b = 0; b < BINS; b++) g[i]! += a[b]! * sums[b]!;
    for (let j = 0; j <= i; j++) {
      const c = columns[j]!;
      let sum = 0;
      for (let b = 0; b < BINS; b++) sum += a[b]! * c[b]! * counts[b]!;
      H[i * p + j] = sum;
      H[j * p + i] = sum;
    }
  }
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  let squares = 0;
  for (let i = 0; i < p; i++) squares += g[i]! * solved.x[i]!;
  return { x: solved.x, squares };
}
