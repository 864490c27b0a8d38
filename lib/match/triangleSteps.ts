import { normalQuantile } from "../signal/distributions.ts";
import { FALSE_ALARM } from "./context.ts";
import { robustDeviation } from "./robust.ts";
import { aheadOfTriangle, sweepCurve } from "./sweepCurve.ts";
import type { SweepModel } from "./sweepModel.ts";

/** A place from which on a triangle runs ahead of the one fitted to the whole record. */
export interface TriangleStep {
  readonly at: number;
  readonly within: number;
  /** Readings ahead of before. */
  readonly readings: number;
}

/** A triangle that turns round sooner than this has no straight part to tell a delay from. */
const SHORTEST_HALF = 12;
/** Widths, in blocks, over which the delay before and after a place is averaged. */
const WIDTHS = [2, 6, 18, 54];
/** What a quiet quantiser and single-code errors leave once the curve is taken off: LSB of a step, and rms of one reading. */
const LEFT_OF_CURVE = { step: 0.8, rms: 0.32 };
/** Of so few passes a step does not outlast its own mirror image in the curve; an offset's step, which shows at apexes only, is left out by place. */
const FEW_PASSES = 5;
/** Share of a step that must show before the curve is taken off. */
const SHOWN = 0.6;
/** A step goes on: before the next one this share of it must still be there further away. */
const STAYS = 0.5;

/**
 * Places where a triangle gets ahead by less than a jump shows. What a reading departs from the fitted triangle is, over the slope and with the sign of its slope,
 * how many readings it is ahead. The converter's own curve acts alike on both slopes and is taken off first, as the mean of what both leave at each code; of
 * a record of P passes that takes a P-th of a loss off as well. Blocks of at least a code; the means of some blocks before and after a place are compared, in
 * units of the record's own scatter of that difference, with a threshold that Gaussian noise passes with chance FALSE_ALARM over all places.
 * @param moving  codes strictly between which the triangle shows
 * @param lsb     codes to an LSB of the converter, where firmware sums conversions
 */
export function triangleSteps(
  codes: Int32Array,
  model: SweepModel,
  moving: { floor: number; ceiling: number },
  lsb: number,
): TriangleStep[] {
  const { period, slope } = model;
  if (period === null || !(0.5 / period.frequency >= SHORTEST_HALF)) return [];
  const { frequency, start } = period;
  const passes = 2 * frequency * codes.length;
  if (passes < 1.6) return [];
  // Near the rails noise is cut off, at an apex a delay is no longer a shift of codes.
  const margin = 3 * model.residualRms + 1;
  const shows = { floor: moving.floor + margin, ceiling: moving.ceiling - margin };
  const limit = 6 * model.residualRms + 2;
  const curve = sweepCurve(codes, model, [0, codes.length - 1], shows);
  const length = Math.max(1, Math.ceil(1 / slope), Math.ceil(codes.length / 16_384));
  const all = aheadOfTriangle(codes, curve, length, shows, limit);
  const count = all.ahead.length;
  // Blocks without readings that show are left out, and the others close up.
  const at: number[] = [];
  const ahead: number[] = [];
  const plain: number[] = [];
  for (let b = 0; b < count; b++) {
    if (Number.isNaN(all.ahead[b]!)) continue;
    at.push(b * length);
    ahead.push(all.ahead[b]! / slope);
    plain.push(all.plain[b]! / slope);
  }
  const blocks = ahead.length;
  const share = 1 - 1 / passes;
  const prefix = new Float64Array(blocks + 1);
  for (let b = 0; b < blocks; b++) prefix[b + 1] = prefix[b]! + ahead[b]!;
  const mean = (from: number, to: number): number => (prefix[to]! - prefix[from]!) / (to - from);
  const found: TriangleStep[] = [];
  // Whether an apex lies between two readings.
  const turns = (from: number, to: number): boolean =>
    Math.floor(2 * (frequency * from + start)) !== Math.floor(2 * (frequency * to + start));
  const halfBlocks = 0.5 / frequency / length;
  for (const w of WIDTHS) {
    if (blocks < 8 * w || w > 0.45 * halfBlocks) break;
    const steps: number[] = [];
    for (let b = w; b + w <= blocks; b++) steps.push(mean(b, b + w) - mean(b - w, b));
    const spread = Math.max(robustDeviation(steps, 0), (LEFT_OF_CURVE.rms * lsb) / slope / Math.sqrt((w * length) / 2));
    const threshold = -normalQuantile(FALSE_ALARM / (8 * count)) * spread + (LEFT_OF_CURVE.step * lsb) / slope;
    for (let i = 0; i < steps.length; i++) {
      if (!(steps[i]! > threshold)) continue;
      let peak = i;
      while (i + 1 < steps.length && steps[i + 1]! > 0.5 * threshold) {
        i++;
        if (steps[i]! > steps[peak]!) peak = i;
      }
      const b = peak + w;
      const isWhole =
        passes < FEW_PASSES
          ? !turns(at[b - w]!, at[b + w - 1]! + length)
          : goesOn(mean, b, steps[peak]!, blocks, halfBlocks);
      if (!isWhole) continue;
      // With the curve a share of a step goes to the other passes of the same codes, turned round; only where it is does it show without.
      const shown = average(plain, b, b + w) - average(plain, b - w, b);
      if (shown < SHOWN * (steps[peak]! / share)) continue;
      const within = Math.max(1, w * length);
      if (found.some((f) => Math.abs(f.at - at[b]!) <= f.within + within)) continue;
      found.push({ at: at[b]!, within, readings: Math.max(1, Math.round(steps[peak]! / share)) });
    }
  }
  return found.sort((a, b) => a.at - b.at);
}

function average(values: readonly number[], from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i]!;
  return sum / (to - from);
}

/** A loss stays: over whole periods before and after, in which an offset or drift cancels between the slopes, the step is still there. */
function goesOn(
  mean: (from: number, to: number) => number,
  at: number,
  step: number,
  blocks: number,
  halfBlocks: number,
): boolean {
  const before = Math.min(at, Math.round(2 * halfBlocks));
  const after = Math.min(blocks - at, Math.round(2 * halfBlocks));
  return mean(at, at + after) - mean(at - before, at) > STAYS * step;
}
