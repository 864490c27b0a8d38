import { voltageOfCode } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import type { ResultCapture } from "../result.ts";
import type { TrimSource } from "./chooseCapture.ts";
import { resultScale } from "./resultScale.ts";

/** The input at the middle of each code, as far as a capture tells: what a reading of that code really means. */
export interface CodeInputs {
  /** Element y for code y, or for code y·stride. */
  readonly volts: Float64Array;
  /** More codes than are worth visiting one by one (beyond 24 bits): every stride-th. */
  readonly stride: number;
  /** Codes whose input was measured; the others come from the straight line. */
  readonly measured: number;
  readonly from: "transitions" | "levels" | "line";
  /** The capture whose transitions gave the shape, where it is another than the one that gave the line. */
  readonly shape: string | null;
  /** False for a code that the capture shows to have no width: it never comes. */
  readonly occurs: (index: number) => boolean;
}

const MOST_CODES = 2 ** 24;

/**
 * The middle of each code's input range: ½(T[y] + T[y+1]) where a histogram tested both transitions, between the levels where
 * steps were applied, and elsewhere the capture's straight line, (V(y) − Vos)/G.
 * The end codes, open to one side, always come from the line.
 * @param line   the capture that gives the straight line
 * @param shape  another capture of the same input and setting that has transitions, for a line capture without: its codes' departures from its own
 *   line are laid on the line
 */
export function codeInputs(line: TrimSource, shape: TrimSource | null): CodeInputs {
  const { capture } = line;
  const scale = resultScale(capture.converter);
  const stride = Math.max(1, Math.ceil((scale.topCode + 1) / MOST_CODES));
  const count = Math.floor(scale.topCode / stride) + 1;
  const onLine = (source: TrimSource, code: number): Volts =>
    (voltageOfCode(scale, code) - source.offset.value * scale.lsb) / (1 + source.gain.value / 100);
  const volts = Float64Array.from({ length: count }, (_, i) => onLine(line, i * stride));
  const width = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const ends = [1, scale.topCode - 1] as const;

  const own = hasTransitions(capture) ? line : shape;
  if (own !== null && hasTransitions(own.capture)) {
    const { codes, volts: levels } = own.capture.transitions!;
    const filled = new Float64Array(count).fill(Number.NaN);
    // The middle of code y lies half way between transition y and transition y + 1: at y = k − ½.
    const middles = codes.map((k) => k - 0.5);
    const measured = fillBetween(filled, stride, middles, levels, spacing(codes), ends, width);
    for (let i = 0; i < count; i++) {
      const code = i * stride;
      if (!Number.isNaN(filled[i]!))
        volts[i] = filled[i]! + (own === line ? 0 : onLine(line, code) - onLine(own, code));
    }
    if (measured > 0)
      return {
        volts,
        stride,
        measured,
        from: "transitions",
        shape: own === line ? null : own.capture.name,
        occurs: (i) => width[i]! > 0,
      };
  }
  if (capture.steps !== null && capture.steps.length > 1) {
    const levels = levelsOf(capture.steps);
    const measured = fillBetween(
      volts,
      stride,
      levels.map((l) => l.meanCode),
      levels.map((l) => l.applied),
      Number.POSITIVE_INFINITY,
      ends,
      null,
    );
    if (measured > 0) return { volts, stride, measured, from: "levels", shape: null, occurs: () => true };
  }
  return { volts, stride, measured: 0, from: "line", shape: null, occurs: () => true };
}

/** Whether a capture has transitions to give a shape. */
export function hasTransitions({ transitions }: ResultCapture): boolean {
  return transitions !== null && transitions.codes.length > 1 && transitions.volts.some((v) => v !== null);
}

/** Levels by their mean code; one that was swept both ways is one level, its mean. Levels at a rail are left out. */
function levelsOf(steps: NonNullable<ResultCapture["steps"]>): { applied: Volts; meanCode: number }[] {
  const byApplied = new Map<Volts, number[]>();
  for (const { applied, meanCode, inl } of steps)
    if (inl !== null) byApplied.set(applied, [...(byApplied.get(applied) ?? []), meanCode]);
  return [...byApplied]
    .map(([applied, codes]) => ({ applied, meanCode: codes.reduce((sum, c) => sum + c, 0) / codes.length }))
    .sort((a, b) => a.meanCode - b.meanCode);
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
