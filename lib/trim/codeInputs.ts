import { type Scale, voltageOfCode } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import type { ResultCapture } from "../result.ts";

/** The input at the middle of each code, as far as a capture tells: what a reading of that code really means. */
export interface CodeInputs {
  /** Element y for code y, or for code y·stride. */
  readonly volts: Float64Array;
  /** More codes than are worth visiting one by one (beyond 24 bits): every stride-th. */
  readonly stride: number;
  /** Codes whose input was measured; the others come from the straight line. */
  readonly measured: number;
  readonly from: "transitions" | "levels" | "line";
  /** False for a code that the capture shows to have no width: it never comes. */
  readonly occurs: (index: number) => boolean;
}

const MOST_CODES = 2 ** 24;

/**
 * The middle of each code's input range: ½(T[y] + T[y+1]) where a histogram tested both transitions, between the levels where
 * steps were applied, and elsewhere the capture's straight line, (V(y) − Vos)/G.
 * The end codes, open to one side, always come from the line.
 * @param gain    G
 * @param offset  Vos in volts
 */
export function codeInputs(capture: ResultCapture, scale: Scale, gain: number, offset: Volts): CodeInputs {
  const stride = Math.max(1, Math.ceil((scale.topCode + 1) / MOST_CODES));
  const count = Math.floor(scale.topCode / stride) + 1;
  const volts = new Float64Array(count);
  for (let i = 0; i < count; i++) volts[i] = (voltageOfCode(scale, i * stride) - offset) / gain;
  const width = new Float64Array(count).fill(Number.POSITIVE_INFINITY);

  const { transitions, steps } = capture;
  if (transitions !== null && transitions.codes.length > 1) {
    const measured = fillBetween(
      volts,
      stride,
      // The middle of code y lies half way between transition y and transition y + 1: at y = k − ½.
      transitions.codes.map((k) => k - 0.5),
      transitions.volts,
      spacing(transitions.codes),
      [1, scale.topCode - 1],
      width,
    );
    if (measured > 0) return { volts, stride, measured, from: "transitions", occurs: (i) => width[i]! > 0 };
  }
  if (steps !== null && steps.length > 1) {
    // A level swept both ways appears twice; its mean stands for the level.
    const levels = [...steps].filter((s) => s.inl !== null).sort((a, b) => a.meanCode - b.meanCode);
    const measured = fillBetween(
      volts,
      stride,
      levels.map((s) => s.meanCode),
      levels.map((s) => s.applied),
      Number.POSITIVE_INFINITY,
      [1, scale.topCode - 1],
      null,
    );
    if (measured > 0) return { volts, stride, measured, from: "levels", occurs: () => true };
  }
  return { volts, stride, measured: 0, from: "line", occurs: () => true };
}

function spacing(codes: readonly number[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 1; i < codes.length; i++) least = Math.min(least, codes[i]! - codes[i - 1]!);
  return least;
}

/** Puts values between listed positions into place, by straight lines no longer than `reach`; returns how many codes that gave. */
function fillBetween(
  volts: Float64Array,
  stride: number,
  positions: readonly number[],
  values: readonly (number | null)[],
  reach: number,
  [firstCode, lastCode]: readonly [number, number],
  width: Float64Array | null,
): number {
  let filled = 0;
  for (let i = 1; i < positions.length; i++) {
    const from = positions[i - 1]!;
    const to = positions[i]!;
    const low = values[i - 1] ?? null;
    const high = values[i] ?? null;
    if (low === null || high === null || !(to > from) || to - from > reach) continue;
    const begin = Math.max(Math.ceil(from / stride), Math.ceil(firstCode / stride));
    // The last segment includes its end; the others leave it to the next.
    const end = Math.min(
      i === positions.length - 1 ? Math.floor(to / stride) : Math.ceil(to / stride) - 1,
      volts.length - 1,
    );
    for (let j = begin; j <= end && j * stride <= lastCode; j++) {
      volts[j] = low + ((high - low) * (j * stride - from)) / (to - from);
      if (width !== null) width[j] = high - low;
      filled++;
    }
  }
  return filled;
}
