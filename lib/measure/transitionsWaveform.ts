import type { Lsb } from "../bench/units.ts";

/**
 * What a periodic or single pass applies, as a function of `position`: 0 at its lowest input, 1 at its highest, spread evenly in time. A code histogram
 * fixes positions; the waveform turns them into inputs. Inputs are in LSB above the bottom of the range throughout.
 */
export interface Waveform {
  readonly lowest: Lsb;
  readonly highest: Lsb;
  at(position: number): Lsb;
  /** d input / d position. */
  slope(position: number): Lsb;
  /** Share of time that the input lies below x: the inverse of `at`, 0 and 1 beyond the ends. */
  below(x: Lsb): number;
}

/** Input = centre − amplitude·cos(π·position). Source: IEEE Std 1241-2010, sine histogram. */
export function sineWaveform(centre: Lsb, amplitude: Lsb): Waveform {
  return {
    lowest: centre - amplitude,
    highest: centre + amplitude,
    at: (position) => centre - amplitude * Math.cos(Math.PI * position),
    slope: (position) => Math.PI * amplitude * Math.sin(Math.PI * Math.min(1, Math.max(0, position))),
    below: (x) => Math.acos(Math.min(1, Math.max(-1, (centre - x) / amplitude))) / Math.PI,
  };
}

/** Ramp and triangle: input runs evenly from lowest to highest. */
export function linearWaveform(lowest: Lsb, highest: Lsb): Waveform {
  const span = highest - lowest;
  return {
    lowest,
    highest,
    at: (position) => lowest + span * position,
    slope: () => span,
    below: (x) => Math.min(1, Math.max(0, (x - lowest) / span)),
  };
}
