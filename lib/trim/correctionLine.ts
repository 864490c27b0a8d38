import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";

/** Corrected code = slope·code + intercept. Both may be fractions of a code; rounding is the arithmetic's business. */
export interface CorrectionLine {
  readonly slope: number;
  readonly intercept: Lsb;
}

/**
 * The straight line that turns a converter's codes into those of an ideal converter of the same scale.
 * From G·T + Vos = ideal T, a code that stands for V(y) was caused by the input (V(y) − Vos)/G; the corrected code is the one that stands for
 * that input. A converter that reads high (offset, gain error positive) is therefore corrected downwards.
 * @param gain    G, 1 + gainError/100; > 0
 * @param offset  offsetError, Vos/Q, in LSB at 0 V input
 * @throws RangeError  gain is not positive and finite, or offset is not finite
 * Source: IEEE Std 1241-2010, gain and offset, solved for the input.
 * @example correctionLine(scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 }), 1.005, 3)
 *   // { slope: 0.99502…, intercept: −2.98507… }: code 3 at 0 V becomes 0
 */
export function correctionLine(scale: Scale, gain: number, offset: Lsb): CorrectionLine {
  if (!(gain > 0 && gain < Number.POSITIVE_INFINITY))
    throw new RangeError(`correctionLine: gain must be positive and finite; got ${gain}`);
  if (!Number.isFinite(offset)) throw new RangeError(`correctionLine: offset must be finite, in LSB; got ${offset}`);
  const slope = 1 / gain;
  // V(y)/Q = low/Q + y + firstTransition − ½; everything but y goes into the intercept.
  const atCodeZero = scale.low / scale.lsb + scale.firstTransition - 0.5;
  return { slope, intercept: atCodeZero * (slope - 1) - offset * slope };
}
