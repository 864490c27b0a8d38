import type { Lsb } from "../bench/units.ts";
import { kernels } from "../kernels/kernels.generated.js";

/**
 * What a periodic or single pass applies, as a function of `position`: 0 at its lowest input, 1 at its highest, spread evenly in time. A code histogram
 * fixes positions; the waveform turns them into inputs. Inputs are in LSB above the bottom of the range throughout.
 */
export interface Waveform {
  /** A sine; otherwise a straight line. */
  readonly sine: boolean;
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
  return waveform(true, centre - amplitude, centre + amplitude);
}

/** Ramp and triangle: input runs evenly from lowest to highest. */
export function linearWaveform(lowest: Lsb, highest: Lsb): Waveform {
  return waveform(false, lowest, highest);
}

function waveform(sine: boolean, lowest: Lsb, highest: Lsb): Waveform {
  return {
    sine,
    lowest,
    highest,
    at: (position) => kernels.waveformAt(sine, lowest, highest, position),
    slope: (position) => kernels.waveformSlope(sine, lowest, highest, position),
    below: (x) => kernels.waveformBelow(sine, lowest, highest, x),
  };
}
