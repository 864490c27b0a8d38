import type { Volts } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";
import type { Detector } from "./context.ts";
import { levelMismatch } from "./levelMismatch.ts";
import { levelOrder } from "./levelOrder.ts";
import { levelsOffLine } from "./levelsOffLine.ts";
import { steppedVolts } from "./steppedLevels.ts";
import { movingCodes } from "./sweepModel.ts";
import { triangleMismatch } from "./triangleMismatch.ts";

/** Ramp, triangle, steady and steps against their stated levels. */
export const otherMismatch: Detector = ({ record, seen, clean, triangle }) => {
  const { stimulus, codes, scale } = record;
  if (stimulus === null || codes.length < 16) return [];
  const top = scale.topCode;
  const base = { amplitudeStandard: 0, offsetStandard: 0, deviations: 5 };
  switch (stimulus.kind) {
    case "steady":
      // A level stated beyond the range stands at the rail, as it must.
      if (
        stimulus.voltage !== null &&
        isBeyond(stimulus.voltage, scale) &&
        seen.atBottom + seen.atTop > 0.5 * seen.readings
      )
        return [];
      return levelMismatch(record, {
        ...base,
        amplitude: null,
        statedAmplitude: null,
        offset: seen.mean,
        statedOffset: stimulus.voltage,
      });
    case "ramp": {
      // A ramp with pieces missing is steeper than it was; it says nothing about its ends.
      if (clean.length !== 1) return [];
      const { floor, ceiling } = movingCodes(record, seen);
      const line = lineOf(codes, null, floor, ceiling);
      if (line === null) return [];
      return levelMismatch(record, {
        ...base,
        amplitude: Math.abs((line.slope * (codes.length - 1)) / 2),
        statedAmplitude: (stimulus.to - stimulus.from) / 2,
        offset: line.at((codes.length - 1) / 2),
        statedOffset: (stimulus.from + stimulus.to) / 2,
      });
    }
    case "triangle":
      return triangleMismatch(record, seen, triangle);
    case "steps": {
      // With readings missing the list does not line up any more.
      if (record.appliedVolts === null && clean.length !== 1) return [];
      const applied = steppedVolts(record);
      if (applied === null) return [];
      // Levels that are flattened, or not those stated, spoil the line.
      const off = levelsOffLine(record);
      if (off?.isEnd) return [];
      const order = off === null ? [] : levelOrder(record, off);
      if (order.length > 0) return order;
      const line = lineOf(codes, applied, 0, top);
      if (line === null) return [];
      const middle = scale.low + scale.fsr / 2;
      return levelMismatch(record, {
        ...base,
        amplitude: Math.abs(line.slope) * (scale.fsr / 2),
        statedAmplitude: scale.fsr / 2,
        offset: line.at(middle),
        statedOffset: middle,
      });
    }
    default:
      return [];
  }
};

function isBeyond(volts: Volts, scale: CaptureRecord["scale"]): boolean {
  return volts < scale.low || volts > scale.low + scale.fsr;
}

/** Least-squares line of the codes strictly between floor and ceiling over x, their own number where that is null; null where fewer than 16 are or x does not vary. */
function lineOf(
  codes: Int32Array,
  x: Float64Array | null,
  floor: number,
  ceiling: number,
): { slope: number; at: (x: number) => number } | null {
  let sums: ReturnType<typeof kernels.addToLine> = { count: 0, meanX: 0, meanY: 0, sxx: 0, sxy: 0 };
  for (let from = 0; from < codes.length; from += MOST_AT_ONCE) {
    const to = Math.min(codes.length, from + MOST_AT_ONCE);
    const along = x === null ? new Float64Array(0) : x.subarray(from, to);
    sums = kernels.addToLine(sums, codes.subarray(from, to), along, from, floor, ceiling);
  }
  const { count, meanX: mx, meanY: my, sxx, sxy } = sums;
  if (count < 16 || !(sxx > 0)) return null;
  const slope = sxy / sxx;
  return { slope, at: (v) => my + slope * (v - mx) };
}
