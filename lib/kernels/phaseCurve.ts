import { AlongSine, BLOCK, Sine } from "./alongSine";
import { symmetricSolve } from "./symmetricSolve";

/** A function of the phase changes so little within a 256th of a turn that its value at the middle stands for the bin. */
export const BINS = 256;

/** What a sine leaves of a record, gathered by the sine's phase: see lib/match/phaseCurve.ts. */
export class PhaseCurve {
  sums: Float64Array = new Float64Array(BINS);
  counts: Float64Array = new Float64Array(BINS);
  squares: f64 = 0;
  readings: f64 = 0;
}

/** Takes what is left at a phase, in turns, into a curve's sums and counts. */
export function gather(sums: Float64Array, counts: Float64Array, turns: f64, left: f64): void {
  if (counts.length < sums.length) unreachable();
  const bins = sums.length;
  // Within the bins, whatever the phase: a remainder is not negative.
  const bin = min(bins - 1, <i32>((turns - floor<f64>(turns)) * bins));
  unchecked((sums[bin] += left));
  unchecked((counts[bin] += 1));
}

/** Folds readings `first` on about a sine into so many bins of its phase, where its own value lies between floor and ceiling. */
export function phaseCurve(codes: Int32Array, sine: Sine, first: f64, floor: f64, ceiling: f64, bins: i32): PhaseCurve {
  if (bins < 1) unreachable();
  const curve = new PhaseCurve();
  curve.sums = new Float64Array(bins);
  curve.counts = new Float64Array(bins);
  const along = new AlongSine(sine, first);
  const cyclesPerReading = sine.cyclesPerReading;
  const start = sine.phase / (2 * Math.PI);
  const sums = curve.sums;
  const counts = curve.counts;
  let squares: f64 = 0;
  let readings: f64 = 0;
  for (let from = 0; from < codes.length; from += BLOCK) {
    const models = along.ahead();
    const end = min(codes.length, from + BLOCK);
    for (let i = from; i < end; i++) {
      const model = unchecked(models[i - from]);
      if (model <= floor || model >= ceiling) continue;
      const left = unchecked(codes[i]) - model;
      gather(sums, counts, cyclesPerReading * (first + i) + start, left);
      squares += left * left;
      readings += 1;
    }
  }
  curve.squares = squares;
  curve.readings = readings;
  return curve;
}

/** Cosines of half-bins' phases, from which those of all orders at the middles of the bins are taken. */
export function halfBinCosines(): StaticArray<f64> {
  const cosines = new StaticArray<f64>(2 * BINS);
  for (let i = 0; i < 2 * BINS; i++) cosines[i] = Math.cos((Math.PI * i) / BINS);
  return cosines;
}

/** Writes cos and sin of `order` times the phase into two columns, BINS values each. */
export function harmonicColumns(columns: Float64Array, at: i32, order: i32, cosines: StaticArray<f64>): void {
  for (let i = 0; i < BINS; i++) {
    const turn = order * (2 * i + 1);
    columns[at + i] = cosines[turn % (2 * BINS)];
    // A quarter of a turn back.
    columns[at + BINS + i] = cosines[(turn + (3 * BINS) / 2) % (2 * BINS)];
  }
}

export class Explained {
  x: Float64Array = new Float64Array(0);
  squares: f64 = 0;
}

/** Least squares of columns, BINS values each: their coefficients, and what they explain of the squares; null where they cannot be told apart. */
export function explainedByColumns(curve: PhaseCurve, columns: Float64Array): Explained | null {
  const p = columns.length / BINS;
  const sums = curve.sums;
  const counts = curve.counts;
  if (sums.length < BINS || counts.length < BINS) unreachable();
  const H = new Float64Array(p * p);
  const g = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    const a = i * BINS;
    let share: f64 = 0;
    for (let b = 0; b < BINS; b++) share += unchecked(columns[a + b]) * unchecked(sums[b]);
    g[i] = share;
    for (let j = 0; j <= i; j++) {
      const c = j * BINS;
      let sum: f64 = 0;
      for (let b = 0; b < BINS; b++)
        sum += unchecked(columns[a + b]) * unchecked(columns[c + b]) * unchecked(counts[b]);
      H[i * p + j] = sum;
      H[j * p + i] = sum;
    }
  }
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  const found = new Explained();
  found.x = solved.x;
  for (let i = 0; i < p; i++) found.squares += g[i] * solved.x[i];
  return found;
}

/** The same of a level, the sine itself, courses (BINS values each), and the harmonics `from` to `to`, in this order. */
export function explained(curve: PhaseCurve, courses: Float64Array, from: i32, to: i32): Explained | null {
  const cosines = halfBinCosines();
  const harmonics = max(0, to - from + 1);
  const columns = new Float64Array((3 + 2 * harmonics) * BINS + courses.length);
  columns.fill(1, 0, BINS);
  harmonicColumns(columns, BINS, 1, cosines);
  for (let i = 0; i < courses.length; i++) columns[3 * BINS + i] = courses[i];
  for (let h = 0; h < harmonics; h++) harmonicColumns(columns, (3 + 2 * h) * BINS + courses.length, from + h, cosines);
  return explainedByColumns(curve, columns);
}
