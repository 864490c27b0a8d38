import { codeOfVoltage, type Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import type { TransitionCurve } from "./measurement.ts";
import type { Cells } from "./noiseLikelihood.ts";

/** Cells of the quantiser as another capture of the same converter measured them. */
export interface KnownCells {
  readonly cells: Cells;
  /** Standard uncertainty of one code's width, LSB. */
  readonly widthSd: Lsb;
}

/**
 * The cells of codes first…last from a capture's transitions; offset and gain need not be taken out, for the noise is only compared with the widths.
 * @returns null where a transition was not tested, its uncertainty is not known, or a width is lost in it
 */
export function knownCells(curve: TransitionCurve, scale: Scale, first: number, last: number): KnownCells | null {
  const edges = new Float64Array(last - first + 2);
  for (let i = 0; i < edges.length; i++) {
    const k = first + i;
    edges[i] =
      k <= 0
        ? Number.NEGATIVE_INFINITY
        : k > scale.topCode
          ? Number.POSITIVE_INFINITY
          : codeOfVoltage(scale, curve.volts[k - curve.first] ?? Number.NaN);
    if (Number.isNaN(edges[i]!) || (i > 0 && !(edges[i]! >= edges[i - 1]!))) return null;
  }
  let square = 0;
  let count = 0;
  for (let code = Math.max(1, first); code <= Math.min(last, scale.topCode - 1); code++) {
    const u = curve.dnlU[code - curve.first];
    if (u === undefined || !(u >= 0)) return null;
    square += u * u;
    count++;
  }
  if (count === 0) return null;
  const widthSd = Math.sqrt(square / count);
  // A cell that may as well have no width at all would make any reading in it a wonder.
  for (let i = 1; i < edges.length; i++) if (edges[i]! - edges[i - 1]! < 3 * widthSd) return null;
  return { cells: { firstCode: first, edges }, widthSd };
}
