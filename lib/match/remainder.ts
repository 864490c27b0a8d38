import { alongSine } from "../signal/alongSine.ts";
import type { MatchContext } from "./context.ts";
import { alongCourses } from "./driftingSine.ts";
import { piecewiseRemainder } from "./piecewiseRemainder.ts";
import { sweepCurve } from "./sweepCurve.ts";

/** What a record shows beside its stimulus. */
export interface Remainder {
  /** Codes, line off; means of `step` readings each. */
  readonly values: Float64Array;
  readonly step: number;
  /** Share of the noise's power, and of a line's, that is left at so many cycles per reading. */
  readonly response: (cycles: number) => number;
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

const all = (): number => 1;

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
  const values = new Float64Array(count);
  const left = leftOf(context, used);
  if (left === null) return null;
  for (let i = 0, n = first; i < count; i++) {
    let sum = 0;
    for (const end = n + step; n < end; n++) sum += left.at(n);
    values[i] = sum / step;
  }
  takeLineOff(values);
  return { values, step, response: left.response, tone: left.tone };
}

/** What is left of reading n; asked for in order. */
function leftOf(
  context: Omit<MatchContext, "hum">,
  [first, last]: readonly [number, number],
): ({ at: (n: number) => number } & Pick<Remainder, "response" | "tone">) | null {
  const { record, rate, fit, triangle, courses } = context;
  const { codes, stimulus, scale } = record;
  switch (stimulus?.kind) {
    case "steady":
      return { at: (n) => codes[n]!, response: all, tone: null };
    case "sine": {
      if (fit === null) return null;
      const model = alongSine(fit);
      const course = alongCourses(courses, fit, [first, last]);
      // On a rail the remainder says nothing.
      return {
        at: (n) => {
          const y = model(n);
          return y > 0.5 && y < scale.topCode - 0.5 ? codes[n]! - y - (course === null ? 0 : course(n)) : 0;
        },
        response: all,
        tone: fit.cyclesPerReading,
      };
    }
    case "triangle": {
      if (triangle === null || triangle.period === null) break;
      const { offset, amplitude, slope, residualRms, period } = triangle;
      if (2 * period.frequency * (last - first + 1) < LEAST_PASSES) break;
      // Apexes are rounded by the source, and rails cut noise off.
      const margin = 3 * residualRms + 1;
      const shows = (y: number): boolean =>
        Math.abs(y - offset) < amplitude - 2 * slope && y > margin && y < scale.topCode - margin;
      const pieces = Math.min(CURVE.pieces, (last - first + 1) / CURVE.readings);
      const curve = sweepCurve(codes, triangle, [first, last], shows, pieces);
      return {
        at: (n) => {
          const y = triangle.at(n);
          const rest = shows(y) ? codes[n]! - y - curve(y) : 0;
          return Math.abs(rest) < 6 * residualRms + 2 ? rest : 0;
        },
        response: all,
        tone: null,
      };
    }
  }
  const pieces = piecewiseRemainder(record);
  if (pieces === null) return null;
  const { left, level } = pieces;
  return {
    at: (n) => left[n]!,
    // Taking the mean of so many readings off takes this much of a line off as well.
    response: (cycles) => {
      if (level === null) return 1;
      const x = Math.PI * cycles * level;
      return Math.max(LEAST_RESPONSE, 1 - (Math.sin(x) / x) ** 2);
    },
    tone: stimulus?.kind === "triangle" && rate !== null ? (stimulus.frequency ?? 0) / rate.value || null : null,
  };
}

function takeLineOff(values: Float64Array): void {
  const n = values.length;
  let my = 0;
  let sxy = 0;
  const middle = (n - 1) / 2;
  for (let i = 0; i < n; i++) {
    my += values[i]! / n;
    sxy += (i - middle) * values[i]!;
  }
  const slope = sxy / ((n * (n * n - 1)) / 12);
  for (let i = 0; i < n; i++) values[i]! -= my + slope * (i - middle);
}
