import type { Scale } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import type { CorrectionLine } from "./correctionLine.ts";

/** Corrected volts at the pin = perCode·code + atCodeZero, both in single precision; the code is the plain one, 0…topCode. */
export interface FloatConstants {
  readonly perCode: Volts;
  readonly atCodeZero: Volts;
}

/** The correction line as volts: one multiplication and one addition bring a code to the input that caused it. */
export function floatConstants(scale: Scale, line: CorrectionLine): FloatConstants {
  return {
    perCode: Math.fround(line.slope * scale.lsb),
    atCodeZero: Math.fround(scale.low + (line.intercept + scale.firstTransition - 0.5) * scale.lsb),
  };
}

/** A code to volts in single precision, each step rounded as the firmware's would be (without a fused multiply-add). */
export function applyFloat({ perCode, atCodeZero }: FloatConstants, code: number): Volts {
  return Math.fround(Math.fround(perCode * Math.fround(code)) + atCodeZero);
}
