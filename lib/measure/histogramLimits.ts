import type { PinStimulus, SourceLimit } from "../bench/pinStimulus.ts";
import type { Scale } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";

/** One stated limit's effect on a figure, in the figure's unit. */
export interface LimitEffect {
  readonly from: string;
  readonly halfWidth: number;
}

/** What a limit moves a voltage by at most; volts. */
function moves(limit: SourceLimit, volts: Volts): Volts {
  return limit.kind === "shift" ? limit.halfWidth : limit.halfWidth * Math.abs(volts - limit.pivot);
}

/** Effect on a point of the transfer curve at `volts`: offset error at 0 V, offsetAtLow at T[1]; LSB. */
export function limitsAt(stimulus: PinStimulus, scale: Scale, volts: Volts): LimitEffect[] {
  return stimulus.limits
    .map((limit) => ({ from: limit.from, halfWidth: moves(limit, volts) / scale.lsb }))
    .filter((l) => l.halfWidth > 0);
}

/** Effect on gain, per cent: scale limits whole, shifts not at all. */
export function limitsOnGain(stimulus: PinStimulus): LimitEffect[] {
  return stimulus.limits
    .filter((limit) => limit.kind === "scale")
    .map((limit) => ({ from: limit.from, halfWidth: 100 * limit.halfWidth }));
}

/**
 * Effect on INL: a source's departure from its own straight line goes in whole. For a sine with a stated distortion: a harmonic of amplitude a bends the
 * transfer curve by up to 2a from its end points (a second harmonic in phase: a·(2x² − 1)), 4a/3 from its best line.
 */
export function limitsOnInl(stimulus: PinStimulus, scale: Scale, line: "endpoint" | "best-fit"): LimitEffect[] {
  if (stimulus.kind === "sine") {
    const { thd } = stimulus.purity;
    if (thd === null || stimulus.amplitude === null) return [];
    const harmonic: Lsb = (stimulus.amplitude / scale.lsb) * 10 ** (thd / 20);
    return [{ from: "source distortion", halfWidth: harmonic * (line === "endpoint" ? 2 : 4 / 3) }];
  }
  return stimulus.linearity > 0 ? [{ from: "source linearity", halfWidth: stimulus.linearity / scale.lsb }] : [];
}

/** Effect on the largest unadjusted error: what moving every transition by each limit does to the maximum. */
export function limitsOnTotal(
  stimulus: PinStimulus,
  scale: Scale,
  transitions: Float64Array,
  errors: Float64Array,
): LimitEffect[] {
  const largest = (shift: (volts: Volts) => Volts): number => {
    let most = 0;
    for (let i = 0; i < errors.length; i++)
      most = Math.max(most, Math.abs(errors[i]! + shift(transitions[i]!) / scale.lsb));
    return most;
  };
  const plain = largest(() => 0);
  const effects = stimulus.limits.map((limit) => {
    const by = (sign: number) => (volts: Volts) =>
      sign * limit.halfWidth * (limit.kind === "shift" ? 1 : volts - limit.pivot);
    return {
      from: limit.from,
      halfWidth: Math.max(Math.abs(largest(by(1)) - plain), Math.abs(largest(by(-1)) - plain)),
    };
  });
  return [...effects, ...limitsOnInl(stimulus, scale, "best-fit")].filter((l) => l.halfWidth > 0);
}
