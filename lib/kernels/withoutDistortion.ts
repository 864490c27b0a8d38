import { isUsable, UsableCodes } from "./usableCodes";

/** A tone and what goes with it: see lib/match/withoutDistortion.ts. */
export class Distorted {
  cycles: f64 = 0;
  offset: f64 = 0;
  amplitude: f64 = 0;
  /** First reading of each piece, and the tone's phase in it. */
  starts: Float64Array = new Float64Array(0);
  phases: Float64Array = new Float64Array(0);
  /** Order, c and s of each harmonic. */
  harmonics: Float64Array = new Float64Array(0);
  levelMoves: Float64Array = new Float64Array(0);
  amplitudeMoves: Float64Array = new Float64Array(0);
}

export class WithoutDistortion {
  readings: Float64Array = new Float64Array(0);
  /** Sum of squares that the tone then leaves, made up for the cells' means. */
  rss: f64 = 0;
}

/**
 * Readings without drift, harmonics, and the mean of what is left in each of some cells of the tone's height.
 * @param usable  codes that say something about the cells
 */
export function withoutDistortion(
  codes: Int32Array,
  fit: Distorted,
  cells: i32,
  usable: UsableCodes,
): WithoutDistortion {
  const half = <f64>codes.length / 2;
  const cellOf = new Int16Array(codes.length);
  const left = new Float64Array(codes.length);
  const readings = new Float64Array(codes.length);
  const sums = new Float64Array(cells);
  const counts = new Float64Array(cells);
  const harmonics = fit.harmonics;
  for (let k = 0; k < fit.starts.length; k++) {
    const last = k + 1 < fit.starts.length ? <i32>fit.starts[k + 1] : codes.length;
    for (let n = <i32>fit.starts[k]; n < last; n++) {
      const turns = fit.cycles * n;
      const theta = 2 * Math.PI * (turns - floor<f64>(turns)) + fit.phases[k];
      const tone = Math.cos(theta);
      const cell = min(cells - 1, <i32>(((tone + 1) / 2) * cells));
      let distortion: f64 = 0;
      for (let h = 0; h < harmonics.length; h += 3)
        distortion +=
          harmonics[h + 1] * Math.cos(harmonics[h] * theta) + harmonics[h + 2] * Math.sin(harmonics[h] * theta);
      const u = (n - half) / half;
      let power = u;
      for (let i = 0; i < fit.levelMoves.length; i++) {
        const ofAmplitude = i < fit.amplitudeMoves.length ? fit.amplitudeMoves[i] : 0;
        distortion += (fit.levelMoves[i] + ofAmplitude * tone) * power;
        power *= u;
      }
      readings[n] = codes[n] - distortion;
      left[n] = readings[n] - fit.offset - fit.amplitude * tone;
      if (!isUsable(codes[n], usable)) {
        cellOf[n] = -1;
        continue;
      }
      cellOf[n] = <i16>cell;
      sums[cell] += left[n];
      counts[cell] += 1;
    }
  }
  let rss: f64 = 0;
  let used: f64 = 0;
  for (let n = 0; n < codes.length; n++) {
    const cell = cellOf[n];
    if (cell < 0) continue;
    const curve = sums[cell] / counts[cell];
    readings[n] -= curve;
    rss += (left[n] - curve) * (left[n] - curve);
    used++;
  }
  let taken: f64 = 0;
  for (let cell = 0; cell < cells; cell++) if (counts[cell] > 0) taken++;
  const found = new WithoutDistortion();
  found.readings = readings;
  found.rss = max<f64>(1e-9, (rss * used) / max<f64>(1, used - taken));
  return found;
}
