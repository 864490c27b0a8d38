import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import type { Finding } from "./finding.ts";
import { type Levels, levelMismatch } from "./levelMismatch.ts";
import { robustDeviation } from "./robust.ts";
import type { Survey } from "./survey.ts";
import type { SweepModel } from "./sweepModel.ts";

/** Readings looked at for the noise. */
const LOOKED_AT = 20_000;
/** Share of the span that a record must climb before and leave after an apex; a record that only ends there may have had further to go. */
const LEFT = 0.1;

/**
 * A triangle's size and middle against what is stated. The fitted triangle says it best, also beyond the rails and flattened ends, and knows how badly it knows them where
 * the record hardly passes a second apex; where none follows, the apexes at which the record turns round are compared.
 */
export function triangleMismatch(record: CaptureRecord, seen: Survey, triangle: SweepModel | null): Finding[] {
  const { codes, stimulus } = record;
  if (stimulus?.kind !== "triangle") return [];
  const { low, high } = stimulus;
  const whole = { statedAmplitude: (high - low) / 2, statedOffset: (high + low) / 2 };
  if (triangle !== null) {
    const { amplitude, amplitudeStandard, offset, offsetStandard } = triangle;
    return levelMismatch(record, { ...whole, amplitude, amplitudeStandard, offset, offsetStandard, deviations: 5 });
  }
  const { noise, move } = scatter(codes);
  const out = noise + move;
  if (out > 0.2 * (seen.max - seen.min)) return [];
  const [bottom, peak] = [seen.min + noise, seen.max - noise];
  const ends = {
    low: seen.atBottom > 0 || !turnsAt(codes, seen.min, seen) ? null : bottom,
    high: seen.atTop > 0 || !turnsAt(codes, seen.max, seen) ? null : peak,
  };
  const level: Pick<Levels, "amplitudeStandard" | "offsetStandard" | "deviations"> = {
    deviations: 1,
    amplitudeStandard: out,
    offsetStandard: out,
  };
  if (ends.low !== null && ends.high !== null)
    return levelMismatch(record, {
      ...level,
      ...whole,
      amplitude: (ends.high - ends.low) / 2,
      offset: (ends.high + ends.low) / 2,
    });
  // The other end is on a rail, or not in the record; this one still says where the triangle lies.
  const offset = ends.low ?? ends.high;
  if (offset === null) return [];
  return levelMismatch(record, {
    ...level,
    amplitude: null,
    statedAmplitude: null,
    offset,
    statedOffset: ends.low !== null ? low : high,
  });
}

/** How far extremes stick out by noise (four deviations and rounding), and what an apex may lose by falling between two readings, codes. */
function scatter(codes: Int32Array): { noise: number; move: number } {
  const bends: number[] = [];
  const moves: number[] = [];
  for (let n = 2; n < Math.min(codes.length, LOOKED_AT); n++) {
    bends.push(codes[n]! - 2 * codes[n - 1]! + codes[n - 2]!);
    moves.push(Math.abs(codes[n]! - codes[n - 1]!));
  }
  return { noise: 4 * (robustDeviation(bends, 0) / Math.sqrt(6)) + 2, move: median(moves) };
}

/** Whether the record comes to an extreme and goes away from it again; one that only begins or ends there may have further to go. */
export function turnsAt(codes: Int32Array, extreme: number, seen: Survey): boolean {
  const far = LEFT * (seen.max - seen.min);
  const isFar = (code: number): boolean => Math.abs(code - extreme) > far;
  const first = codes.findIndex(isFar);
  const last = codes.findLastIndex(isFar);
  const at = codes.indexOf(extreme, Math.max(0, first));
  return first >= 0 && at >= 0 && at < last;
}
