import { idealTransition, type Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";

/** Static figures of a converter whose transitions are known exactly: what a capture's intervals must hold. Names, units and signs as in DESIGN §4. */
export interface StaticTruth {
  readonly offsetError: Lsb;
  readonly offsetAtLow: Lsb;
  /** Per cent. */
  readonly gainError: number;
  readonly dnlMax: Lsb;
  readonly dnlMin: Lsb;
  readonly inlMax: Lsb;
  readonly inlMin: Lsb;
  readonly missingCodes: number;
  readonly totalUnadjustedError: Lsb;
  /** Element k belongs to transition T[k] (code k for dnl); NaN outside first…last. */
  readonly inl: Float64Array;
  readonly dnl: Float64Array;
}

/**
 * The truth of a simulated converter, worked out straight from the definitions and on purpose not with the code that measures.
 * With Gaussian noise T[k] is still the input at which the output is as often below k as at or above it, so that noise changes nothing here.
 * @param T      element k is T[k] in volts, k = 1…topCode, rising; element 0 is not looked at
 * @param scale  the ideal converter
 * @param line   endpoint: through T[first] and T[last]; best-fit: ideal T regressed on T
 * @param first, last  the transitions that the stimulus exercised; all by default
 * @throws RangeError  fewer than three transitions
 * Source: DESIGN §4; IEEE Std 1241-2010, gain and offset, integral and differential nonlinearity.
 */
export function staticTruth(
  T: Float64Array,
  scale: Scale,
  line: "endpoint" | "best-fit",
  first = 1,
  last = scale.topCode,
): StaticTruth {
  if (!(last - first >= 2)) throw new RangeError(`staticTruth: needs at least three transitions; got ${first}…${last}`);
  const ideal = (k: number): number => idealTransition(scale, k);
  let gain = (ideal(last) - ideal(first)) / (T[last]! - T[first]!);
  let vos = ideal(first) - gain * T[first]!;
  if (line === "best-fit") {
    const count = last - first + 1;
    let meanT = 0;
    let meanIdeal = 0;
    for (let k = first; k <= last; k++) {
      meanT += T[k]! / count;
      meanIdeal += ideal(k) / count;
    }
    let xx = 0;
    let xy = 0;
    for (let k = first; k <= last; k++) {
      xx += (T[k]! - meanT) ** 2;
      xy += (T[k]! - meanT) * (ideal(k) - meanIdeal);
    }
    gain = xy / xx;
    vos = meanIdeal - gain * meanT;
  }
  const inl = new Float64Array(scale.topCode + 1).fill(Number.NaN);
  const dnl = new Float64Array(scale.topCode + 1).fill(Number.NaN);
  const worst = { inlMax: -Infinity, inlMin: Infinity, dnlMax: -Infinity, dnlMin: Infinity, tue: 0, missing: 0 };
  for (let k = first; k <= last; k++) {
    const epsilon = ideal(k) - gain * T[k]! - vos;
    inl[k] = -epsilon / scale.lsb;
    worst.inlMax = Math.max(worst.inlMax, inl[k]!);
    worst.inlMin = Math.min(worst.inlMin, inl[k]!);
    worst.tue = Math.max(worst.tue, Math.abs(T[k]! - ideal(k)) / scale.lsb);
    if (k === last) break;
    dnl[k] = (gain * (T[k + 1]! - T[k]!)) / scale.lsb - 1;
    worst.dnlMax = Math.max(worst.dnlMax, dnl[k]!);
    worst.dnlMin = Math.min(worst.dnlMin, dnl[k]!);
    if (dnl[k]! <= -0.9) worst.missing++;
  }
  return {
    offsetError: vos / scale.lsb,
    offsetAtLow: (ideal(1) - T[1]!) / scale.lsb,
    gainError: 100 * (gain - 1),
    dnlMax: worst.dnlMax,
    dnlMin: worst.dnlMin,
    inlMax: worst.inlMax,
    inlMin: worst.inlMin,
    missingCodes: worst.missing,
    totalUnadjustedError: worst.tue,
    inl,
    dnl,
  };
}
