import type { SineFit } from "../signal/sineFit.ts";
import type { JointPhases } from "./jointPhases.ts";

/** Cells in which the converter's own curve is averaged, at most, and the readings that each takes at least on average. */
const MOST_CELLS = 1024;
const READINGS_A_CELL = 16;

/** A tone, and what goes with it. */
export type Distorted = Pick<
  JointPhases,
  "cycles" | "offset" | "amplitude" | "starts" | "phases" | "harmonics" | "levelMoves" | "amplitudeMoves"
>;

/** One sine through the record, and nothing beside it. */
export function undistorted({
  cyclesPerReading: cycles,
  offset,
  amplitude,
  phase,
}: Pick<SineFit, "cyclesPerReading" | "offset" | "amplitude" | "phase">): Distorted {
  return { cycles, offset, amplitude, starts: [0], phases: [phase], harmonics: [], levelMoves: [], amplitudeMoves: [] };
}

/**
 * Readings of a tone without drift of its level and amplitude, without its harmonics and without the converter's own curve: what is left at each level, on average over both slopes and all cycles. A loss
 * moves the two slopes apart, and differs from before to after; of a record of few passes a part of it goes with the curve.
 * @returns the readings, and the sum of squares that the tone then leaves, made up for the cells' means; codes
 */
export function withoutDistortion(
  codes: Int32Array,
  fit: Distorted,
  exclude: ((code: number) => boolean) | null,
): { readings: Float64Array; rss: number } {
  const { starts, phases, cycles, offset, amplitude, harmonics, levelMoves, amplitudeMoves } = fit;
  const half = codes.length / 2;
  const cells = Math.max(
    1,
    Math.min(MOST_CELLS, Math.floor(2 * amplitude), Math.floor(codes.length / READINGS_A_CELL)),
  );
  const cellOf = new Int16Array(codes.length);
  const left = new Float64Array(codes.length);
  const readings = Float64Array.from(codes);
  const sums = new Float64Array(cells);
  const counts = new Float64Array(cells);
  starts.forEach((first, k) => {
    const last = starts[k + 1] ?? codes.length;
    for (let n = first; n < last; n++) {
      const turns = cycles * n;
      const theta = 2 * Math.PI * (turns - Math.floor(turns)) + phases[k]!;
      const tone = Math.cos(theta);
      const cell = Math.min(cells - 1, Math.floor(((tone + 1) / 2) * cells));
      let distortion = 0;
      for (const { order, c, s } of harmonics) distortion += c * Math.cos(order * theta) + s * Math.sin(order * theta);
      const u = (n - half) / half;
      for (let i = 0, power = u; i < levelMoves.length; i++, power *= u)
        distortion += (levelMoves[i]! + (amplitudeMoves[i] ?? 0) * tone) * power;
      readings[n]! -= distortion;
      left[n] = readings[n]! - offset - amplitude * tone;
      cellOf[n] = exclude?.(codes[n]!) ? -1 : cell;
      if (cellOf[n]! < 0) continue;
      sums[cell]! += left[n]!;
      counts[cell]!++;
    }
  });
  let rss = 0;
  let used = 0;
  for (let n = 0; n < codes.length; n++) {
    const cell = cellOf[n]!;
    if (cell < 0) continue;
    const curve = sums[cell]! / counts[cell]!;
    readings[n]! -= curve;
    rss += (left[n]! - curve) ** 2;
    used++;
  }
  const taken = counts.reduce((sum, count) => sum + (count > 0 ? 1 : 0), 0);
  return { readings, rss: Math.max(1e-9, (rss * used) / Math.max(1, used - taken)) };
}
