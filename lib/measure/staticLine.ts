import { idealTransition, type Scale } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import { kernels } from "../kernels/kernels.generated.js";

/** The straight line of a converter: G·T[k] + Vos + ε[k] = ideal T[k]. */
export interface StaticLine {
  /** G; above 1 when the converter reads high at the top. */
  readonly gain: number;
  /** Vos: what the line reads at 0 V input. */
  readonly offset: Volts;
}

/**
 * The line that offset, gain, DNL and INL refer to.
 * @param transitions  measured T[first], T[first + 1], …; volts, at least two
 * @param line  endpoint: through the first and the last of them; best-fit: ideal T regressed on T, as IEEE defines it (not T on k)
 * @throws RangeError  fewer than two transitions, or no distance between them
 * Source: IEEE Std 1241-2010, gain and offset (independently based, terminal based).
 */
export function staticLine(
  transitions: ArrayLike<Volts>,
  scale: Scale,
  first: number,
  line: "endpoint" | "best-fit",
): StaticLine {
  const count = transitions.length;
  if (count < 2) throw new RangeError(`staticLine: requires at least 2 transitions; got ${count}`);
  const start = transitions[0]!;
  const end = transitions[count - 1]!;
  if (line === "endpoint") {
    if (!(end > start))
      throw new RangeError(`staticLine: the last transition must lie above the first; got ${start} V, ${end} V`);
    const gain = ((count - 1) * scale.lsb) / (end - start);
    return { gain, offset: idealTransition(scale, first) - gain * start };
  }
  let mean = 0;
  for (let i = 0; i < count; i++) mean += transitions[i]!;
  mean /= count;
  const middle = (count - 1) / 2;
  let xx = 0;
  let xy = 0;
  for (let i = 0; i < count; i++) {
    const x = transitions[i]! - mean;
    xx += x * x;
    xy += x * (i - middle);
  }
  if (!(xx > 0)) throw new RangeError("staticLine: the transitions must not all be equal");
  const gain = (xy * scale.lsb) / xx;
  return { gain, offset: idealTransition(scale, first) + middle * scale.lsb - gain * mean };
}

/** INL[k] = −ε[k]/Q: positive where the transition sits too high, so that the converter reads LOW there. Element i belongs to T[first + i]. */
export function integralNonlinearity(
  transitions: Float64Array,
  scale: Scale,
  first: number,
  { gain, offset }: StaticLine,
): Float64Array {
  return kernels.linePlaceErrors(transitions, scale.low, scale.lsb, scale.firstTransition + first - 1, gain, offset);
}

/** DNL[k] = G·(T[k+1] − T[k])/Q − 1: the excess width of code k. Element i belongs to code first + i; the last element, whose code has no upper transition, is NaN. */
export function differentialNonlinearity(
  transitions: Float64Array,
  lsb: Volts,
  { gain }: Pick<StaticLine, "gain">,
): Float64Array {
  return kernels.differentialNonlinearity(transitions, lsb, gain);
}

/** (T[k] − ideal T[k])/Q, nothing corrected; the largest magnitude is the total unadjusted error. */
export function unadjustedErrors(transitions: Float64Array, scale: Scale, first: number): Float64Array {
  return kernels.linePlaceErrors(transitions, scale.low, scale.lsb, scale.firstTransition + first - 1, 1, 0);
}
