import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { exchangedOnLevels } from "./exchangedOnLevels.ts";
import type { Finding } from "./finding.ts";
import { ALL_METRICS } from "./metricGroups.ts";
import { type Rereading, rereadings } from "./rereadings.ts";
import { say } from "./say.ts";
import { smallRatio } from "./smallRatio.ts";
import { type StepLevel, stepLevels } from "./stepLevels.ts";
import { stuckTopBit } from "./stuckTopBit.ts";
import type { Survey } from "./survey.ts";
import { LOOKED_AT, lookedStride, unexplainedBy } from "./unexplained.ts";

/** A level that a wrong sign splits over both ends of the range has more than this of a range-wide spread's power; a few upset readings do not. */
const SPLIT_LEVEL = 0.1;
/** A level whose bytes come together again spreads 256 times less. */
const TOGETHER = 1e-3;
/** Of a staircase only a gross improvement counts: its few levels fit some exchange of low bits by chance. */
const FEW_LEVELS = 0.05;
/** rms that noise and the converter's own curve leave at most, codes. */
const IN_ORDER = 6;
/** rms of a staircase about its line that a converter's curve accounts for, codes. */
const STRAIGHT = 2.5;
const NEXT_TO_NOTHING = 0.05;
/** Share of the power that a sine read rightly leaves at the very most (20 dB); a wrong sign or byte order leaves more. */
const ALL_BUT_NOISE = 0.01;
/** Different codes without which one exchange of bits is as good as another. */
const ENOUGH_CODES = 24;
/** And different levels of a staircase: a line through three of them is as easily met with two bits exchanged. */
const ENOUGH_LEVELS = 5;

const AS_IS: Pick<Rereading, "apply"> = { apply: (y) => y };

/**
 * Words put together wrongly although every code is in range: the sign bit turned over, bytes exchanged, two lines exchanged, a bit that never changes.
 * Each rereading is judged by how much of the record the stimulus leaves unexplained. A true reading of the words by a monotone converter
 * is never improved by exchanging bits, so that the threshold only has to stand clear of the noise of the ratio: 0.8 of the unexplained power on 512 readings or more is some
 * five standard deviations away (relative sd of a variance ratio about √(4/M)), 0.5 on fewer.
 */
export function codeMeaning(record: CaptureRecord, seen: Survey, fit: SineFit | null): Finding[] {
  const bits = Math.round(record.scale.bits);
  if (seen.min < 0 || seen.max > record.scale.topCode || seen.readings < 32 || seen.distinct < 2) return [];
  const judge = unexplainedBy(record, seen, fit);
  if (judge === null) return [];
  const now = judge([AS_IS], false)[0]!;
  if (!(now > 0)) return [];
  const stepped = record.stimulus?.kind === "steps";
  const exchanged = exchangedOnLevels(record);
  if (exchanged !== null)
    return [
      meant(
        record,
        exchanged,
        "the readings of each level lie closer together and the levels nearer to a straight line than with the codes as they stand",
      ),
    ];
  // Levels that lie as near to the line as a converter in order puts them leave nothing to explain.
  if (stepped && now * spreadOf(record, fit, AS_IS) < STRAIGHT ** 2) return [];
  const enough = stepped
    ? FEW_LEVELS
    : record.stimulus?.kind === "steady"
      ? TOGETHER
      : Math.min(seen.readings, LOOKED_AT) >= 512
        ? 0.8
        : 0.5;
  const levels = stepped ? stepLevels(record) : null;
  const isFew = isOfFewPhases(fit, seen);
  const asked = rereadings(bits, record.spec.converter.coding === "twos-complement").filter((reading) => {
    const isExchange = reading.id === "stuck-bit";
    // A level visits too few codes to tell one line of the bus from another.
    if (record.stimulus?.kind === "steady")
      return !isExchange && (reading.id !== "sign-mismatch" || now >= SPLIT_LEVEL);
    if (!isExchange) return true;
    if (isFew || (levels !== null && !movesLevels(levels, reading))) return false;
    return (levels?.length ?? seen.distinct) >= (stepped ? ENOUGH_LEVELS : ENOUGH_CODES);
  });
  const far = asked.filter((reading) => reading.id !== "stuck-bit");
  const exchanges = asked.slice(far.length);
  const lefts = [...judge(far, now > ALL_BUT_NOISE), ...judge(exchanges, false)];
  let best: { reading: Rereading; left: number } | null = null;
  for (const [i, reading] of asked.entries()) {
    const left = lefts[i]!;
    if (!(left < enough * now) || (best !== null && left >= best.left)) continue;
    // What is left must be what a converter in order leaves, or next to nothing of what was: a clipped or broken record is no better read otherwise.
    if (left < NEXT_TO_NOTHING * now || left * spreadOf(record, fit, reading) < IN_ORDER ** 2) best = { reading, left };
  }
  if (best === null) return stuckTopBit(record, seen, fit, now);
  const { reading, left } = best;
  const ratio = now / Math.max(left, 1e-12);
  const better = `the stimulus explains the record ${ratio > 1000 ? "over 1000" : say.number(ratio)} times better (in power) than with the codes as they stand`;
  return [meant(record, reading, better)];
}

function meant(record: CaptureRecord, reading: Rereading, better: string): Finding {
  return {
    id: reading.id,
    severity: "error",
    text: `With ${reading.what} ${better}.`,
    cause: reading.cause,
    advice: reading.advice,
    readings: [[0, record.codes.length - 1]],
    nulls: ALL_METRICS,
  };
}

/** Whether a tone comes back to a few phases: its codes are many by their noise only. */
function isOfFewPhases(fit: SineFit | null, { readings }: Survey): boolean {
  const ratio = fit === null ? null : smallRatio(fit.cyclesPerReading, readings, 3 * fit.standard.cyclesPerReading);
  return ratio !== null && ratio[1] < ENOUGH_CODES;
}

/** Whether lines exchanged move several levels: a single one off the line is as likely to be flattened or set wrongly. */
function movesLevels(levels: readonly StepLevel[], { apply }: Rereading): boolean {
  return levels.filter((l) => apply(Math.round(l.mean)) !== Math.round(l.mean)).length >= 2;
}

/** Variance of the codes after a rereading. */
function spreadOf(record: CaptureRecord, fit: SineFit | null, { apply }: Pick<Rereading, "apply">): number {
  const { codes } = record;
  const count = Math.min(codes.length, LOOKED_AT);
  const stride = lookedStride(record, fit);
  let sum = 0;
  let squares = 0;
  const shift = apply(codes[0]!);
  for (let i = 0; i < count; i++) {
    const y = apply(codes[i * stride]!) - shift;
    sum += y;
    squares += y * y;
  }
  return Math.max(0, squares - (sum * sum) / count) / count;
}
