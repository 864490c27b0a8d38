import { type Problem, ProblemError } from "../bench/problem.ts";
import { codeOfVoltage, type Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { channelsDiffer } from "../compare/channelsDiffer.ts";
import type { Result } from "../result.ts";
import { chooseCapture, lineUncertainty, shapeFor, type TrimSource } from "./chooseCapture.ts";
import { type CodeInputs, codeInputs } from "./codeInputs.ts";
import { type CorrectionLine, correctionLine } from "./correctionLine.ts";
import { applyTable, type CorrectionTable, correctionTable, tablePoints } from "./correctionTable.ts";
import {
  type AccumulatorBits,
  applyFixedPoint,
  type FixedPointCorrection,
  fixedPointCorrection,
} from "./fixedPoint.ts";
import { applyFloat, type FloatConstants, floatConstants } from "./floatConstants.ts";
import { type Residual, residual } from "./residual.ts";
import { resultScale } from "./resultScale.ts";

export interface TrimOptions {
  /** Where the result came from, for messages. */
  readonly file: string;
  readonly capture: string | null;
  readonly accumulator: AccumulatorBits;
  /** Points of a correction table; null for none. */
  readonly tablePoints: number | null;
}

/** Correction constants for firmware, and what is left after them. */
export interface Trim {
  readonly source: TrimSource;
  readonly scale: Scale;
  readonly line: CorrectionLine;
  readonly volts: FloatConstants;
  readonly fixed: FixedPointCorrection;
  readonly table: CorrectionTable | null;
  readonly inputs: Pick<CodeInputs, "from" | "measured" | "stride" | "shape">;
  readonly residual: {
    readonly before: Residual;
    /** The line in real numbers, nothing rounded: what is left is the converter's nonlinearity. */
    readonly unrounded: Residual;
    /** Volts by the floating-point constants, in single precision, rounded to a whole code nowhere. */
    readonly float: Residual;
    /** After the whole-number arithmetic. */
    readonly fixed: Residual;
    readonly table: Residual | null;
  };
  /** About 95 %, at the code where it is largest; null when the figures carry no interval. */
  readonly uncertainty: { readonly worst: Lsb; readonly atCode: number; readonly atMiddle: Lsb } | null;
  /** Largest correction that the line makes, at one of the end codes. */
  readonly largestCorrection: Lsb;
  /** False when the correction stays inside its own uncertainty: nothing is gained by it. */
  readonly worthwhile: boolean | null;
  /** Smallest and largest code that can still come out. */
  readonly outputs: readonly [first: number, last: number];
  readonly cautions: readonly string[];
}

/**
 * Makes correction constants from a scored capture and runs them, as the firmware would, over every code.
 * @throws ProblemError  no capture knows offset and gain, or the constants do not fit the accumulator
 */
export function trim(result: Result, options: TrimOptions): Trim {
  const source = chooseCapture(result, options.file, options.capture);
  const scale = resultScale(source.capture.converter);
  const gain = 1 + source.gain.value / 100;
  const line = correctionLine(scale, gain, source.offset.value);
  const fixed = fixedPointCorrection(line, scale.topCode, options.accumulator);
  if (fixed === null) throw new ProblemError([overflowProblem(options, scale.topCode)]);
  const inputs = codeInputs(source, shapeFor(result, source));
  const table = options.tablePoints === null ? null : makeTable(scale, inputs, options.tablePoints, options);

  const volts = floatConstants(scale, line);
  const inFloat = (code: number): number => codeOfVoltage(scale, applyFloat(volts, code));
  const corrections = [0, scale.topCode].map((code) => Math.abs((line.slope - 1) * code + line.intercept));
  const uncertainty = uncertaintyOf(source, scale.topCode);
  return {
    source,
    scale,
    line,
    volts,
    fixed,
    table,
    inputs: { from: inputs.from, measured: inputs.measured, stride: inputs.stride, shape: inputs.shape },
    residual: {
      before: residual(scale, inputs, (code) => code),
      unrounded: residual(scale, inputs, (code) => line.slope * code + line.intercept, false),
      float: residual(scale, inputs, inFloat, false),
      fixed: residual(scale, inputs, (code) => applyFixedPoint(fixed, code)),
      table: table === null ? null : residual(scale, inputs, (code) => applyTable(table, code)),
    },
    uncertainty,
    largestCorrection: Math.max(...corrections),
    worthwhile: uncertainty === null ? null : exceedsUncertainty(source, line, scale.topCode),
    outputs: [applyFixedPoint(fixed, 0), applyFixedPoint(fixed, scale.topCode)],
    cautions: cautionsOf(result, source, fixed, inputs),
  };
}

function uncertaintyOf(source: TrimSource, topCode: number): Trim["uncertainty"] {
  const low = lineUncertainty(source, 0);
  const high = lineUncertainty(source, topCode);
  const atMiddle = lineUncertainty(source, Math.round(topCode / 2));
  if (low === null || high === null || atMiddle === null) return null;
  return high >= low ? { worst: high, atCode: topCode, atMiddle } : { worst: low, atCode: 0, atMiddle };
}

/** Whether the correction is larger than its uncertainty at either end: in between, a straight line cannot be larger than at both. */
function exceedsUncertainty(source: TrimSource, line: CorrectionLine, topCode: number): boolean {
  return [0, topCode].some(
    (code) => Math.abs((line.slope - 1) * code + line.intercept) > (lineUncertainty(source, code) ?? 0),
  );
}

function overflowProblem({ file, accumulator }: TrimOptions, topCode: number): Problem {
  return {
    code: "accumulator-too-narrow",
    file,
    line: null,
    key: null,
    found: `a signed ${accumulator}-bit accumulator cannot hold codes up to ${topCode} and their correction`,
    expected: accumulator === 64 ? "a converter whose offset and gain lie nearer to the ideal" : "a wider accumulator",
    next: accumulator === 64 ? "Check the bench file's range first." : `Try --accumulator ${accumulator * 2}.`,
  };
}

function makeTable(scale: Scale, inputs: CodeInputs, points: number, options: TrimOptions): CorrectionTable {
  const offered = tablePoints(scale.topCode);
  if (!offered.includes(points))
    throw new ProblemError([
      {
        code: "table-points",
        file: null,
        line: null,
        key: "--table",
        found: `${points} points`,
        expected: `one more than a power of two, so that a shift finds the entry: ${offered.join(", ")}`,
      },
    ]);
  const table = correctionTable(scale, inputs, points, options.accumulator);
  if (table === null) throw new ProblemError([overflowProblem(options, scale.topCode)]);
  return table;
}

/** Enough of an LSB to move a rounding now and then. */
const NOTICEABLE = 0.1;

function cautionsOf(result: Result, source: TrimSource, fixed: FixedPointCorrection, inputs: CodeInputs): string[] {
  const { capture } = source;
  const conditions = { ...result.bench.conditions, ...capture.conditions };
  // That the data are simulated is said by itself, wherever they are shown.
  const said = Object.entries(conditions)
    .filter(([key]) => !/simulated/i.test(key))
    .map(([key, value]) => `${key} ${value}`);
  const cautions = [
    said.length > 0
      ? `These constants belong to this board under these conditions (${said.join(", ")}); another board, temperature, supply or reference needs its own.`
      : "These constants belong to this board at the temperature, supply and reference of the capture; the bench file states none of them (conditions:), so write them down.",
  ];
  if (fixed.arithmeticError > NOTICEABLE)
    cautions.push(
      `The ${fixed.accumulator}-bit accumulator costs up to ${fixed.arithmeticError.toPrecision(2)} LSB; ${fixed.accumulator < 64 ? `--accumulator ${fixed.accumulator * 2} leaves less` : "use floating point where that is too much"}.`,
    );
  if (inputs.from === "line")
    cautions.push(
      "The capture has no transitions or levels, so that the residual shows only offset, gain and arithmetic: INL comes on top.",
    );
  if (inputs.from === "levels")
    cautions.push(
      "Between the applied levels the converter was taken as straight: single wide codes are not in the residual.",
    );
  if (inputs.shape !== null)
    cautions.push(
      `Which codes are wide or narrow comes from capture ${inputs.shape}, laid on the straight line of ${capture.name}.`,
    );
  for (const finding of capture.findings)
    if (finding.severity !== "note") cautions.push(`The capture has a finding, ${finding.id}: ${finding.text}`);
  if (result.captures.some((c) => channelsDiffer(c.channel, capture.channel)))
    cautions.push(`Made from channel ${capture.channel}; other channels need constants of their own.`);
  return cautions;
}
