import type { TrimCheck } from "./checkTrim.ts";
import type { Trim } from "./trim.ts";

/** A trim as plain JSON, "codestair-trim/1": constants for floating and fixed point, the table, and what is left. */
export function trimJson(
  trim: Trim,
  check: TrimCheck | null,
  about: { version: string; written: string | null; from: string },
) {
  const { source, line, volts, fixed, table, inputs, residual, uncertainty, scale } = trim;
  const { offset, gain, capture } = source;
  const figure = ({ value, low, high, uncertainty, unit }: typeof offset) => ({ value, low, high, uncertainty, unit });
  return {
    schema: "codestair-trim/1",
    tool: { name: "codestair", version: about.version },
    written: about.written,
    from: { file: about.from, capture: capture.name, sha256: capture.sha256 },
    converter: {
      coding: capture.converter.coding,
      lsb: scale.lsb,
      low: scale.low,
      topCode: scale.topCode,
      firstTransition: scale.firstTransition,
    },
    offsetError: figure(offset),
    gainError: figure(gain),
    floatingPoint: {
      slope: line.slope,
      intercept: line.intercept,
      voltsPerCode: volts.perCode,
      voltsAtCodeZero: volts.atCodeZero,
    },
    fixedPoint: {
      formula: "code - bias + ((code * multiplier + addend) >> shift), held inside 0 … topCode",
      rounding: "to the nearest code, halves upwards",
      saturation: "at 0 and at topCode",
      multiplier: fixed.multiplier,
      addend: fixed.addend,
      shift: fixed.shift,
      bias: fixed.bias,
      accumulatorBits: fixed.accumulator,
      largestIntermediate: fixed.largest,
      arithmeticError: fixed.arithmeticError,
    },
    table:
      table === null
        ? null
        : {
            entries: table.entries,
            unit: `1/${2 ** table.fraction} LSB`,
            stepShift: table.stepShift,
            fraction: table.fraction,
            addend: table.addend,
            bias: table.bias,
          },
    codesFrom: inputs,
    residual,
    uncertainty,
    worthwhile: trim.worthwhile,
    outputs: trim.outputs,
    cautions: trim.cautions,
    check,
  };
}
