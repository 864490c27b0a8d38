import type { CorrectionLine } from "./correctionLine.ts";

/** Widths of the firmware's accumulator that can be asked for, in bits, signed. */
export const ACCUMULATORS = [16, 32, 64] as const;
export type AccumulatorBits = (typeof ACCUMULATORS)[number];

/**
 * A correction in whole numbers: corrected = code − bias + ((code·multiplier + addend) >> shift), then held inside 0…topCode.
 * The multiplier carries slope − 1 alone, which is small, so that all bits of the accumulator serve the correction. The addend carries the
 * intercept, the half that turns the shift's rounding down into rounding to nearest, and bias·2^shift, which keeps the shifted
 * sum from going negative (what C leaves open).
 */
export interface FixedPointCorrection {
  readonly multiplier: number;
  readonly addend: number;
  readonly shift: number;
  readonly bias: number;
  readonly topCode: number;
  readonly accumulator: AccumulatorBits;
  /** Largest magnitude of any intermediate value, over all codes. */
  readonly largest: number;
  /** Largest departure from the line before rounding to a whole code, in LSB: what the constants' own rounding costs. */
  readonly arithmeticError: number;
}

/**
 * Chooses the largest shift with which no product and no sum overflows the accumulator at any code.
 * @param topCode      largest code that can come, whole, ≥ 1
 * @param accumulator  16, 32 or 64 bits, signed
 * @returns null when codes of this size do not fit the accumulator, or the correction itself does not
 * @example fixedPointCorrection({ slope: 1 / 1.005, intercept: -3 / 1.005 }, 4095, 16)
 *   // { multiplier: -5, addend: 21007, shift: 10, bias: 23, … }
 */
export function fixedPointCorrection(
  line: CorrectionLine,
  topCode: number,
  accumulator: AccumulatorBits,
): FixedPointCorrection | null {
  // Doubles hold whole numbers exactly to 2^53; a 64-bit accumulator is used no further than that, which is beyond any need.
  const most = Math.min(2 ** (accumulator - 1) - 1, Number.MAX_SAFE_INTEGER);
  if (topCode > most) return null;
  for (let shift = Math.min(accumulator - 2, 40); shift >= 0; shift--) {
    const one = 2 ** shift;
    const multiplier = Math.round((line.slope - 1) * one) + 0;
    const half = shift === 0 ? 0 : one / 2;
    const start = Math.round(line.intercept * one) + half;
    const product = multiplier * topCode;
    // A straight line is smallest at one end of the codes.
    const smallest = Math.min(start, start + product);
    const bias = Math.max(0, Math.ceil(-smallest / one));
    const addend = start + bias * one;
    // The corrected code before it is held, which may run past the top, stands in the same accumulator.
    const before = [Math.floor(addend / one) - bias, topCode - bias + Math.floor((addend + product) / one)];
    const largest = Math.max(
      ...[multiplier, product, addend, addend + product, topCode, bias, ...before].map((x) => Math.abs(x)),
    );
    if (largest > most) continue;
    const departure = (code: number): number =>
      Math.abs((multiplier * code + start - half) / one - ((line.slope - 1) * code + line.intercept));
    const arithmeticError = Math.max(departure(0), departure(topCode));
    return { multiplier, addend, shift, bias, topCode, accumulator, largest, arithmeticError };
  }
  return null;
}

/** A code through the whole-number arithmetic, step by step as the firmware does it. */
export function applyFixedPoint(correction: FixedPointCorrection, code: number): number {
  const { multiplier, addend, shift, bias, topCode } = correction;
  const held = Math.min(code, topCode);
  // The sum is never negative, so flooring the quotient is the right shift.
  const corrected = held - bias + Math.floor((held * multiplier + addend) / 2 ** shift);
  return Math.max(0, Math.min(topCode, corrected));
}
