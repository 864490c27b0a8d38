import type { Converter } from "../bench/bench.ts";
import type { Farads, Lsb, Ohms, Seconds } from "../bench/units.ts";

/**
 * Time constants until one RC has settled to within a part of an LSB of a full-scale step.
 * @param part  LSB, ½ unless told otherwise
 * @returns ln(2^N/part)
 * Source: exponential settling; the table in "Analog Engineer's Pocket Reference" (SLYW038) is this with part = 1.
 * @example timeConstants(12) // 9.0109
 */
export function timeConstants(bits: number, part: Lsb = 0.5): number {
  if (!(bits > 0 && part > 0))
    throw new RangeError(`timeConstants: bits and part must be positive; got ${bits}, ${part}`);
  return bits * Math.LN2 - Math.log(part);
}

/** Time until R·C has settled a full-scale step to `part` LSB. @example settlingTime(1e3, 30e-12, 16) // 353.5 ns */
export function settlingTime(resistance: Ohms, capacitance: Farads, bits: number, part: Lsb = 0.5): Seconds {
  return resistance * capacitance * timeConstants(bits, part);
}

/** Whether the sampling time settles the input, and what would. */
export interface Settling {
  /** sampleCycles/clock. */
  readonly available: Seconds;
  /** Until ½ LSB is left of a full-scale step. */
  readonly needed: Seconds;
  readonly settles: boolean;
  /** What is left of a full-scale step at the end of sampling, LSB. */
  readonly left: Lsb;
  /** Resistance of source and switch together. */
  readonly resistance: Ohms;
  /** Fewest sampling clocks that settle it. */
  readonly fewestCycles: number;
  /** Largest source resistance that settles in the time there is; negative: not even 0 Ω would. */
  readonly mostSourceResistance: Ohms;
}

/**
 * Settling of the sampling capacitor to ½ LSB, for the worst step there is: full scale, as after another channel or a discharged capacitor. A single RC; a capacitor
 * at the pin, an amplifier that itself must settle, and leakage are not in it.
 * @returns null when the clock, the cycles or a part of the input circuit is not given
 */
export function settling(converter: Converter): Settling | null {
  const { timing, input, bits } = converter;
  const { sourceResistance, switchResistance, sampleCapacitance } = input;
  if (timing === null || sourceResistance === null || sampleCapacitance === null) return null;
  const resistance = sourceResistance + (switchResistance ?? 0);
  const available = timing.sampleCycles / timing.clock;
  const needed = settlingTime(resistance, sampleCapacitance, bits);
  const left = resistance === 0 ? 0 : 2 ** bits * Math.exp(-available / (resistance * sampleCapacitance));
  return {
    available,
    needed,
    settles: needed <= available,
    left,
    resistance,
    // A hair below, so that a whole number of clocks is not counted one up for rounding.
    fewestCycles: Math.ceil(needed * timing.clock - 1e-9),
    mostSourceResistance: available / (sampleCapacitance * timeConstants(bits)) - (switchResistance ?? 0),
  };
}
