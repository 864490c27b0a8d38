import { idealTransition, type Scale } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import { type Random, seededRandom } from "../signal/random.ts";

/** How a simulated converter departs from the ideal one. All in LSB unless named. */
export interface ConverterFaults {
  /** Reads high by this much at 0 V. */
  readonly offset?: Lsb;
  /** Reads high by this much per cent of the input. */
  readonly gainPercent?: number;
  /** Standard deviation of independent code-width errors. */
  readonly dnlSigma?: Lsb;
  /** A smooth bow: INL of this peak at mid-scale, zero at both ends. */
  readonly bow?: Lsb;
  /** An S shape: one sine period over the range, of this peak. */
  readonly sCurve?: Lsb;
  /** Extra width of the code below mid-scale, taken from the code above it: a major-carry error. */
  readonly majorCarry?: Lsb;
  /** Codes of no width at all; their width goes to the next code. */
  readonly missing?: readonly number[];
  readonly seed?: number;
}

/**
 * Transition levels of a simulated converter, known exactly.
 * @returns element k is T[k] in volts, k = 1…topCode; element 0 is −Infinity, so that the code of v is the last k with T[k] ≤ v
 */
export function simulatedTransitions(scale: Scale, faults: ConverterFaults = {}): Float64Array {
  const {
    offset = 0,
    gainPercent = 0,
    dnlSigma = 0,
    bow = 0,
    sCurve = 0,
    majorCarry = 0,
    missing = [],
    seed = 1,
  } = faults;
  const top = scale.topCode;
  const random = seededRandom(seed);
  const shape = new Float64Array(top + 1);
  // Independent widths as a bridge pinned at both ends, so that dnlSigma adds no gain or offset.
  let walk = 0;
  for (let k = 2; k <= top; k++) {
    if (dnlSigma > 0) walk += Math.max(-0.95, dnlSigma * random.normal());
    shape[k] = walk;
  }
  const half = (scale.topCode + 1) / 2;
  for (let k = 1; k <= top; k++) {
    const x = top > 1 ? (k - 1) / (top - 1) : 0;
    const carry = majorCarry !== 0 && k === Math.round(half) ? majorCarry : 0;
    shape[k] = shape[k]! - walk * x + bow * 4 * x * (1 - x) + sCurve * Math.sin(2 * Math.PI * x) + carry;
  }
  const gain = 1 + gainPercent / 100;
  const T = new Float64Array(top + 1);
  T[0] = Number.NEGATIVE_INFINITY;
  for (let k = 1; k <= top; k++) {
    // G·T + Vos = ideal + shape: the shape is INL, positive where the transition sits too high.
    T[k] = (idealTransition(scale, k) + shape[k]! * scale.lsb - offset * scale.lsb) / gain;
  }
  for (const code of missing) if (code >= 1 && code < top) T[code + 1] = T[code]!;
  // A transition level is where the output is as often below k as at or above it; out-of-order draws are put in order.
  for (let k = 2; k <= top; k++) if (T[k]! < T[k - 1]!) T[k] = T[k - 1]!;
  return T;
}

/** The code for an input voltage: the number of transitions at or below it. */
export function convert(T: Float64Array, volts: Volts): number {
  let low = 0;
  let high = T.length - 1;
  while (low < high) {
    const mid = (low + high + 1) >>> 1;
    if (T[mid]! <= volts) low = mid;
    else high = mid - 1;
  }
  return low;
}

/** Codes for a run of input voltages with Gaussian input noise of `noise` volts rms. */
export function convertAll(
  T: Float64Array,
  volts: (n: number) => Volts,
  readings: number,
  noise: Volts,
  random: Random,
): Int32Array {
  const codes = new Int32Array(readings);
  for (let n = 0; n < readings; n++) codes[n] = convert(T, volts(n) + (noise > 0 ? noise * random.normal() : 0));
  return codes;
}
