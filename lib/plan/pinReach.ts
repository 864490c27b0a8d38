import type { CaptureSpec } from "../bench/bench.ts";
import { type PinStimulus, pinStimulus } from "../bench/pinStimulus.ts";
import type { Volts } from "../bench/units.ts";

/** How far a stimulus reaches at the pin, and what the pin survives. */
export interface PinReach {
  readonly low: Volts;
  readonly high: Volts;
  /** With every stated limit of source and front end at its worst. */
  readonly worstLow: Volts;
  readonly worstHigh: Volts;
  readonly pinLow: Volts;
  readonly pinHigh: Volts;
  /** The pin's limits come from the bench file; else they are the range and 0.3 V beyond, common practice. */
  readonly isStated: boolean;
  /** By how much the pin is overdriven as set; negative or 0: not. */
  readonly excess: Volts;
  /** The same with the limits at their worst. */
  readonly worstExcess: Volts;
}

/**
 * @returns null when the stimulus does not say how far it reaches (a sine without amplitude or offset, steps in a column)
 */
export function pinReach(spec: CaptureSpec): PinReach | null {
  const applied = pinStimulus(spec);
  const ends = applied === null ? null : endsOf(applied);
  if (applied === null || ends === null) return null;
  const [low, high] = ends;
  const worst = (volts: Volts, towards: -1 | 1): Volts => {
    let reach = applied.repeatability + applied.linearity;
    for (const limit of applied.limits) {
      // The reference changes what a code means, not what arrives at the pin.
      if (limit.from === "reference") continue;
      reach += limit.kind === "shift" ? limit.halfWidth : limit.halfWidth * Math.abs(volts - limit.pivot);
    }
    return volts + towards * reach;
  };
  const worstLow = worst(low, -1);
  const worstHigh = worst(high, 1);
  const { pin } = spec.converter;
  const excess = (bottom: Volts, top: Volts): Volts => Math.max(pin.low - bottom, top - pin.high);
  return {
    low,
    high,
    worstLow,
    worstHigh,
    pinLow: pin.low,
    pinHigh: pin.high,
    isStated: pin.stated,
    excess: excess(low, high),
    worstExcess: excess(worstLow, worstHigh),
  };
}

function endsOf(applied: PinStimulus): readonly [Volts, Volts] | null {
  const between = (...volts: Volts[]): readonly [Volts, Volts] => [Math.min(...volts), Math.max(...volts)];
  switch (applied.kind) {
    case "sine":
      return applied.amplitude === null || applied.offset === null
        ? null
        : between(applied.offset - applied.amplitude, applied.offset + applied.amplitude);
    case "ramp":
      return between(applied.from, applied.to);
    case "triangle":
      return between(applied.low, applied.high);
    case "steady":
      return applied.voltage === null ? null : between(applied.voltage);
    case "steps":
      return applied.levels === null ? null : between(...applied.levels.map((level) => level.voltage));
  }
}
