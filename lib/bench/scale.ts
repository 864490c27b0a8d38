import type { Lsb, Volts } from "./units.ts";

/**
 * What a code stands for: the straight line that an ideal converter of this range would follow (DESIGN §4).
 * Firmware averaging and a measured reference are already in it.
 */
export interface Scale {
  /** Resolution N in bits; not whole when firmware logged a sum that is no power of two. 2^N codes span the range. */
  readonly bits: number;
  /** Lower end of the range. */
  readonly low: Volts;
  /** Full-scale range, high − low. */
  readonly fsr: Volts;
  /** Q = fsr/2^bits. */
  readonly lsb: Volts;
  /** Input at which code 1 begins, in LSB above low. */
  readonly firstTransition: Lsb;
  /** The largest code that can be logged: 2^N − 1 without averaging. Transitions are T[1]…T[topCode]. */
  readonly topCode: number;
}

/** Ideal T[k] = low + (firstTransition + k − 1)·Q, k = 1…topCode; in volts. Source: DESIGN §4, IEEE Std 1241-2010. */
export function idealTransition(scale: Scale, k: number): Volts {
  return scale.low + (scale.firstTransition + k - 1) * scale.lsb;
}

/** The input a code (or a mean of codes) stands for: V(y) = low + (y + firstTransition − ½)·Q; in volts. */
export function voltageOfCode(scale: Scale, code: number): Volts {
  return scale.low + (code + scale.firstTransition - 0.5) * scale.lsb;
}

/** The inverse of voltageOfCode: a real-valued code for an input voltage, not limited to the code range. */
export function codeOfVoltage(scale: Scale, volts: Volts): number {
  return (volts - scale.low) / scale.lsb - scale.firstTransition + 0.5;
}

/**
 * The scale of a converter's logged codes.
 * @param converter.averaging  firmware summed `readings` codes, then shifted right by `shift` (rounding down). The sum stretches the code range by
 *   readings/2^shift; the shift's rounding down loses (2^shift − 1)/2^(shift+1) of a logged code on average, which is arithmetic, not
 *   the converter's offset, and is therefore part of what the code stands for.
 * @throws RangeError  bits is not 1…32, or high ≤ low
 * @example scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 }).lsb // 0.001
 */
export function scaleOf(converter: {
  bits: number;
  low: Volts;
  high: Volts;
  firstTransition: number;
  averaging?: { readings: number; shift: number } | null;
}): Scale {
  const { bits, low, high, firstTransition, averaging } = converter;
  if (!(Number.isInteger(bits) && bits >= 1 && bits <= 32))
    throw new RangeError(`scaleOf: bits must be a whole number from 1 to 32; got ${bits}`);
  if (!(high > low)) throw new RangeError(`scaleOf: high must lie above low; got ${low} V to ${high} V`);
  const readings = averaging?.readings ?? 1;
  const shift = averaging?.shift ?? 0;
  const stretch = readings / 2 ** shift;
  const codes = 2 ** bits * stretch;
  const fsr = high - low;
  const shiftLoss = (2 ** shift - 1) / 2 ** (shift + 1);
  return {
    bits: Math.log2(codes),
    low,
    fsr,
    lsb: fsr / codes,
    firstTransition: 0.5 + shiftLoss + stretch * (firstTransition - 0.5),
    topCode: Math.floor((readings * (2 ** bits - 1)) / 2 ** shift),
  };
}
