import type { Decibels, Farads, Hertz, Seconds, Volts } from "../bench/units.ts";

/** J/K, exact since the SI of 2019. */
const BOLTZMANN = 1.380649e-23;
/** 25 °C. */
export const ROOM_TEMPERATURE = 298.15;

/**
 * Noise that sampling on a capacitor leaves, whatever the resistance.
 * @param kelvin  298.15 unless told otherwise
 * @returns √(kT/C), volts rms
 * @example kTCNoise(1e-12, 300) // 64.36e-6
 */
export function kTCNoise(capacitance: Farads, kelvin = ROOM_TEMPERATURE): Volts {
  if (!(capacitance > 0 && kelvin > 0))
    throw new RangeError(`kTCNoise: capacitance and kelvin must be positive; got ${capacitance} F, ${kelvin} K`);
  return Math.sqrt((BOLTZMANN * kelvin) / capacitance);
}

/**
 * The SNR that a scatter of the sampling instant leaves of a sine, at any amplitude.
 * @returns −20·log10(2π·f·σt), dB
 * Source: Kester, "Aperture time, aperture jitter, aperture delay time", Analog Devices MT-007, 2009.
 * @example jitterSnr(1e3, 10e-9) // 84.04
 */
export function jitterSnr(frequency: Hertz, jitter: Seconds): Decibels {
  return -20 * Math.log10(2 * Math.PI * frequency * jitter);
}

/** The largest scatter of the sampling instant that leaves an SNR. @example jitterFor(1e6, 98.0905) // 1.985e-12 */
export function jitterFor(frequency: Hertz, snr: Decibels): Seconds {
  return 10 ** (-snr / 20) / (2 * Math.PI * frequency);
}

/** SNR of an ideal converter with a sine that spans its range. @example idealSnr(12) // 74.008 */
export function idealSnr(bits: number): Decibels {
  return 20 * Math.log10(2) * bits + 10 * Math.log10(1.5);
}

/** ENOB of a full-scale sine by its SINAD. @example bitsOfSinad(74.008) // 12 */
export function bitsOfSinad(sinad: Decibels): number {
  return (sinad - 10 * Math.log10(1.5)) / (20 * Math.log10(2));
}

/** Independent signal-to-noise ratios combined: their noise powers add. @example combineSnr([70, 75]) // 68.81 */
export function combineSnr(ratios: readonly Decibels[]): Decibels {
  return -10 * Math.log10(ratios.reduce((sum, snr) => sum + 10 ** (-snr / 10), 0));
}
