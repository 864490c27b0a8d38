import { kernels } from "../kernels/kernels.generated.js";
import type { SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
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
  usable: UsableCodes | null,
): { readings: Float64Array; rss: number } {
  const cells = Math.max(
    1,
    Math.min(MOST_CELLS, Math.floor(2 * fit.amplitude), Math.floor(codes.length / READINGS_A_CELL)),
  );
  return kernels.withoutDistortion(
    codes,
    {
      ...fit,
      starts: Float64Array.from(fit.starts),
      phases: Float64Array.from(fit.phases),
      harmonics: Float64Array.from(fit.harmonics.flatMap(({ order, c, s }) => [order, c, s])),
      levelMoves: Float64Array.from(fit.levelMoves),
      amplitudeMoves: Float64Array.from(fit.amplitudeMoves),
    },
    cells,
    usable ?? ALL_CODES,
  );
}
