import type { Lsb } from "../bench/units.ts";
import { normalQuantile } from "../signal/normal.ts";
import { noiseCorrelation } from "./transitions.ts";

/** What a histogram is wanted for. */
export interface HistogramAim {
  /** Resolution N. */
  readonly bits: number;
  /** Wanted ± half-width, LSB. */
  readonly halfWidth: Lsb;
  /** Two-sided confidence for one code; 0.95 by default. */
  readonly confidence?: number;
  /** Peak of the sine beyond the ends of the range, LSB; 0 by default. */
  readonly overdrive?: Lsb;
}

function checked({ bits, halfWidth, confidence = 0.95, overdrive = 0 }: HistogramAim): { z: number; amplitude: Lsb } {
  if (!(bits >= 1 && bits <= 32)) throw new RangeError(`record length: bits must lie in 1…32; got ${bits}`);
  if (!(halfWidth > 0)) throw new RangeError(`record length: halfWidth must be positive, in LSB; got ${halfWidth}`);
  if (!(confidence > 0 && confidence < 1))
    throw new RangeError(`record length: confidence must lie between 0 and 1; got ${confidence}`);
  if (!(overdrive >= 0)) throw new RangeError(`record length: overdrive must not be negative; got ${overdrive}`);
  return { z: normalQuantile((1 + confidence) / 2), amplitude: 2 ** (bits - 1) + overdrive };
}

/**
 * Readings for a wanted DNL confidence with a sine whose phases are random: M = π·2^(N−1)·z²/β².
 * @returns readings, rounded up
 * @throws RangeError  bits, halfWidth, confidence or overdrive out of range
 * Source: Doernberg, Lee and Hodges, "Full-speed testing of A/D converters", IEEE JSSC SC-19(6), 1984.
 * @example readingsForDnl({ bits: 12, halfWidth: 0.1 }) // 2471588
 */
export function readingsForDnl(aim: HistogramAim): number {
  const { z, amplitude } = checked(aim);
  return Math.ceil((Math.PI * amplitude * z * z) / aim.halfWidth ** 2);
}

/**
 * The same for a record whose phases are known and even (a coherent sine, or a fitted one over many cycles), which needs fewer when the noise is below an LSB:
 * M = 2√π·A·σ·(1 − ρ)·z²/β², ρ the correlation of neighbouring transitions. Grows with the noise up to Doernberg's number.
 * Without noise the gap between readings must still be below β.
 * @param noise  of one reading, LSB rms
 * Source: variance of one slope's transition, METHODS 1; the limit of large noise is Doernberg, Lee and Hodges 1984.
 */
export function readingsForDnlKnownPhase(aim: HistogramAim & { readonly noise: Lsb }): number {
  const { z, amplitude } = checked(aim);
  const byNoise =
    (2 * Math.sqrt(Math.PI) * amplitude * aim.noise * (1 - noiseCorrelation(1, aim.noise)) * z * z) /
    aim.halfWidth ** 2;
  // Two gaps, uniform each: 95 % of their sum lies within 0.78 of a gap.
  const byGap = (0.78 * Math.PI * amplitude) / aim.halfWidth;
  return Math.ceil(Math.max(byNoise, byGap));
}

/**
 * Readings for a wanted INL confidence at mid-scale, where a sine is fastest, with random phases: M = (π·A·z/(2β))², which grows as 4^N. Known phases
 * bring it down to √π·A·σ·z²/β²; give `noise` for those.
 * @param noise  of one reading, LSB rms, when phases are known and even; leave it out for random phases
 * Source: binomial variance of a cumulative count through T = C − A·cos(π·CH/S) (Blair, IEEE T-IM 43(3), 1994, treats the same error); known phases: METHODS 1.
 */
export function readingsForInl(aim: HistogramAim & { readonly noise?: Lsb }): number {
  const { z, amplitude } = checked(aim);
  if (aim.noise === undefined) return Math.ceil(((Math.PI * amplitude * z) / (2 * aim.halfWidth)) ** 2);
  const byNoise = (Math.sqrt(Math.PI) * amplitude * aim.noise * z * z) / aim.halfWidth ** 2;
  // A transition lies anywhere in its gap: half of it is certain for an odd number of readings too, where both slopes meet the same gaps.
  const byGap = (0.5 * Math.PI * amplitude) / aim.halfWidth;
  return Math.ceil(Math.max(byNoise, byGap));
}

/**
 * Readings of one ramp for a wanted DNL confidence: K = z²/β² a code when noise spreads each reading over the codes, 2^N codes.
 * Source: the standard deviation of a count of K is √K (Poisson); IEEE Std 1241-2010, ramp histogram.
 * @example readingsForRampDnl({ bits: 8, halfWidth: 0.196 }) // 25599: 100 a code
 */
export function readingsForRampDnl(aim: HistogramAim): number {
  const { z } = checked(aim);
  return Math.ceil(2 ** aim.bits * (z / aim.halfWidth) ** 2);
}

/**
 * How far a sine must pass each end of the range so that noise does not bias the outer transitions by more than β: max(3σ, σ·√(3/(2β))).
 * Source: Blair, "Histogram measurement of ADC nonlinearities using sine waves", IEEE T-IM 43(3), 1994; IEEE Std 1241 (from memory, not confirmed).
 * @example overdriveFor(1, 0.01) // 12.247
 */
export function overdriveFor(noise: Lsb, bias: Lsb): Lsb {
  if (!(noise >= 0 && bias > 0))
    throw new RangeError(`overdriveFor: noise must not be negative and bias positive; got ${noise}, ${bias}`);
  return Math.max(3 * noise, noise * Math.sqrt(3 / (2 * bias)));
}
