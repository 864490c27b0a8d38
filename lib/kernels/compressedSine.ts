import { BINS, explainedByColumns, halfBinCosines, harmonicColumns, PhaseCurve } from "./phaseCurve";

/** The course of a compression that explains most of a curve. */
export class Compression {
  /** Which of the shapes. */
  shape: i32 = 0;
  /** How far the peaks fall short, codes. */
  top: f64 = 0;
  bottom: f64 = 0;
  /** What it explains of the squares beside a level and a sine. */
  squares: f64 = 0;
  /** Its columns over the bins: at the top, the bottom, or both. */
  courses: Float64Array = new Float64Array(0);
}

/**
 * The course, at the top, the bottom or both, that explains most; sizes below zero would be an expansion and do not count.
 * @param knees   of each shape, in the sine's own −1…1: nothing below
 * @param powers  of what lies beyond the knee
 * @param ofSine  what a level and a sine explain of the squares
 */
export function bestCompression(
  curve: PhaseCurve,
  knees: Float64Array,
  powers: Float64Array,
  ofSine: f64,
): Compression | null {
  const cosines = halfBinCosines();
  const sine = new Float64Array(3 * BINS);
  sine.fill(1, 0, BINS);
  harmonicColumns(sine, BINS, 1, cosines);
  let best: Compression | null = null;
  const top = new Float64Array(BINS);
  const bottom = new Float64Array(BINS);
  for (let shape = 0; shape < knees.length; shape++) {
    for (let i = 0; i < BINS; i++) {
      const c = sine[BINS + i];
      top[i] = course(c, knees[shape], powers[shape]);
      bottom[i] = -course(-c, knees[shape], powers[shape]);
    }
    for (let ends = 0; ends < 3; ends++) {
      const both = ends === 0;
      const columns = new Float64Array((both ? 5 : 4) * BINS);
      columns.set(sine);
      columns.set(ends === 2 ? bottom : top, 3 * BINS);
      if (both) columns.set(bottom, 4 * BINS);
      const found = explainedByColumns(curve, columns);
      if (found === null) continue;
      const one = found.x[3];
      const other = both ? found.x[4] : 0;
      if (one < 0 || other < 0) continue;
      const squares = found.squares - ofSine;
      if (best !== null && squares <= best.squares) continue;
      best = new Compression();
      best.shape = shape;
      best.squares = squares;
      best.top = ends === 2 ? 0 : one;
      best.bottom = both ? other : ends === 2 ? one : 0;
      best.courses = columns.slice(3 * BINS);
    }
  }
  return best;
}

function course(c: f64, knee: f64, power: f64): f64 {
  return -(max<f64>(0, (c - knee) / (1 - knee)) ** power);
}
