import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { averages } from "./averages.ts";
import type { MatchContext } from "./context.ts";
import { meansBesideSine } from "./meansBesideSine.ts";
import { piecewiseRemainder } from "./piecewiseRemainder.ts";
import { meansBesideTriangle, sweepCurve } from "./sweepCurve.ts";

/** What a record shows beside its stimulus. */
export interface Remainder {
  /** Codes, line off; means of `step` readings each. */
  readonly values: Float64Array;
  readonly step: number;
  /** Share of the noise's power, and of a line's, that is left at so many cycles per reading; null where all is left. */
  readonly response: ((cycles: number) => number) | null;
  /** Cycles per reading of a periodic stimulus whose harmonics the converter's own curve leaves in; null where none are. */
  readonly tone: number | null;
}

/** Values at most; longer records are averaged down first, as far as ten times the mains frequency stays visible. */
const MOST_VALUES = 1 << 16;
/** Passes of a triangle from which on the converter's own curve is told from what comes with time. */
const LEAST_PASSES = 1.9;
/** Pieces in which that curve is taken off, and the readings that each is the mean of: finer ones would take off what comes in a whole number of periods a pass. */
const CURVE = { pieces: 40, readings: 16 };
/** Response below which a level is too short to show anything. */
const LEAST_RESPONSE = 0.02;

/**
 * The record without its tone, its level and slope, its steps or its sweep, averaged down to at most MOST_VALUES.
 * @returns null where the stimulus does not follow from the readings
 */
export function remainder(context: Omit<MatchContext, "hum">): Remainder | null {
  const { rate, clean } = context;
  const [first, last] = clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
  const readings = last - first + 1;
  if (rate === null || readings < 40) return null;
  // Averaging must leave the seventh order of 60 Hz below half the rate of the means.
  const step = Math.max(1, Math.min(Math.floor(rate.value / 1000), Math.ceil(readings / MOST_VALUES)));
  const most = Math.min(MOST_VALUES, Math.floor(readings / step));
  // Long transforms are much faster at powers of two, and half of a long record still tells.
  const count = most > 1 << 13 ? 2 ** Math.floor(Math.log2(most)) : most;
  const used = [first, first + count * step - 1] as const;
  const left = leftOf(context, used, step);
  return left && { ...left, values: kernels.lineTakenOff(left.values), step };
}

/** What is left of some readings, with any line through it. */
function leftOf(context: Omit<MatchContext, "hum">, used: Stretch, step: number): Omit<Remainder, "step"> | null {
  const { record, rate, fit, triangle, courses } = context;
  const { codes, stimulus, scale } = record;
  const [first, last] = used;
  switch (stimulus?.kind) {
    case "steady":
      return { values: averages(codes, first, step, (last - first + 1) / step), response: null, tone: null };
    case "sine": {
      if (fit === null) return null;
      // On a rail the remainder says nothing.
      const inside = { floor: 0.5, ceiling: scale.topCode - 0.5 };
      const values = meansBesideSine(codes, fit, { courses, along: used }, used, step, inside);
      return { values, response: null, tone: fit.cyclesPerReading };
    }
    case "triangle": {
      if (triangle === null || triangle.period === null) break;
      const { offset, amplitude, slope, residualRms, period } = triangle;
      if (2 * period.frequency * (last - first + 1) < LEAST_PASSES) break;
      // Apexes are rounded by the source, and rails cut noise off.
      const margin = 3 * residualRms + 1;
      const shows = {
        floor: Math.max(margin, offset - amplitude + 2 * slope),
        ceiling: Math.min(scale.topCode - margin, offset + amplitude - 2 * slope),
      };
      const pieces = Math.min(CURVE.pieces, (last - first + 1) / CURVE.readings);
      const curve = sweepCurve(codes, triangle, used, shows, pieces);
      const values = meansBesideTriangle(codes, curve, used, step, shows, 6 * residualRms + 2);
      return { values, response: null, tone: null };
    }
  }
  const pieces = piecewiseRemainder(record);
  if (pieces === null) return null;
  const { left, level } = pieces;
  return {
    values: kernels.valueAverages(left.subarray(first, last + 1), step),
    // Taking the mean of so many readings off takes this much of a line off as well.
    response:
      level === null
        ? null
        : (cycles) => {
            const x = Math.PI * cycles * level;
            return Math.max(LEAST_RESPONSE, 1 - (Math.sin(x) / x) ** 2);
          },
    tone: stimulus?.kind === "triangle" && rate !== null ? (stimulus.frequency ?? 0) / rate.value || null : null,
  };
}
