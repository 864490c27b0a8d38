import { kernels } from "../kernels/kernels.generated.js";
import { WINDOWS, type WindowName } from "./windowTable.ts";

/** A window's values with what is needed to read a spectrum made with it. */
export interface Window {
  readonly name: WindowName;
  readonly values: Float64Array;
  /** Mean of the values: what a line's height is divided by. */
  readonly gain: number;
  /** Normalised equivalent noise bandwidth, bins: N·Σw²/(Σw)². */
  readonly noiseBandwidth: number;
  /** Bins to either side that a line's main lobe fills. */
  readonly lobe: number;
}

/**
 * A window of any length, periodic form: as long as one period of the transform, so that it repeats without a doubled end point.
 * @param length  readings, ≥ 1
 * @throws RangeError  length is not a whole number ≥ 1
 * Source: windowTable.ts.
 * @example windowOf("Hann", 4).values // 0, 0.5, 1, 0.5
 */
export function windowOf(name: WindowName, length: number): Window {
  if (!(Number.isInteger(length) && length >= 1))
    throw new RangeError(`windowOf: length must be a whole number of readings ≥ 1; got ${length}`);
  const { coefficients, lobe } = WINDOWS[name];
  const { values, sum, squares } = kernels.cosineWindow(Float64Array.from(coefficients), length);
  return { name, values, gain: sum / length, noiseBandwidth: (length * squares) / (sum * sum), lobe };
}
