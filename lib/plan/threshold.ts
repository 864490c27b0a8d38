import type { CaptureSpec } from "../bench/bench.ts";
import { atSource } from "../bench/pinStimulus.ts";
import { idealTransition, scaleOf, voltageOfCode } from "../bench/scale.ts";
import type { Ratio, Volts } from "../bench/units.ts";

/** A span of voltages, from (included) up to (not included); a null end is open: the lowest and the highest code reach on. */
export interface VoltWindow {
  readonly from: Volts | null;
  readonly to: Volts | null;
}

/** A voltage as a code, or a code as a voltage, by the conventions in use. All voltages at the pin. */
export interface Threshold {
  /** Asked for, at the pin; null when a code was asked for. */
  readonly volts: Volts | null;
  /** The same at the source, where a front end lies between; null without one. */
  readonly atSource: Volts | null;
  /** The ideal converter's code: the last k with T[k] ≤ volts. */
  readonly code: number;
  /** The voltages that give this code. */
  readonly window: VoltWindow;
  /** What the code stands for, V(y) = low + (y + firstTransition − ½)·Q. */
  readonly middle: Volts;
  /** volts lies outside the range, so that the code is the lowest or the highest. */
  readonly isOutside: boolean;
  /** As firmware computes it with 2^N, rounding down: code, and the volts that code·FSR/2^N gives back. */
  readonly powerOfTwo: DivisorCode;
  /** As firmware computes it with 2^N − 1, rounding to nearest. */
  readonly oneLess: DivisorCode;
  /** The word as it is logged, where coding or alignment changes it; null where it is the code. */
  readonly logged: number | null;
}

export interface DivisorCode {
  readonly divisor: number;
  readonly code: number;
  /** code·FSR/divisor + low. */
  readonly volts: Volts;
}

/** The code for a voltage at the pin. Source: CHECKS 14, X1 and X2. */
export function codeForVoltage(spec: Pick<CaptureSpec, "converter" | "frontEnd">, volts: Volts): Threshold {
  const scale = scaleOf(spec.converter);
  const { low, lsb, fsr, firstTransition, topCode } = scale;
  const clamp = (code: number): number => Math.min(topCode, Math.max(0, code));
  // A voltage typed as a whole number of LSB must not fall one code short for the last digit of a double.
  const codes = Math.round(fsr / lsb);
  const steps = nudge((volts - low) / lsb, codes);
  const exact = Math.floor(nudge(steps - firstTransition + 1, codes));
  return {
    ...describe(spec, clamp(exact)),
    volts,
    isOutside: volts < low || volts > low + fsr,
    powerOfTwo: divisorCode(low, fsr, codes, clamp(Math.floor(steps))),
    oneLess: divisorCode(low, fsr, codes - 1, clamp(Math.round(((volts - low) / fsr) * (codes - 1)))),
  };
}

/**
 * The voltages for a code.
 * @throws RangeError  the code is not a whole number from 0 to the top code
 */
export function voltageForCode(spec: Pick<CaptureSpec, "converter" | "frontEnd">, code: number): Threshold {
  const scale = scaleOf(spec.converter);
  const { low, lsb, fsr, topCode } = scale;
  const codes = Math.round(fsr / lsb);
  if (!(Number.isInteger(code) && code >= 0 && code <= topCode))
    throw new RangeError(`voltageForCode: code must be a whole number from 0 to ${topCode}; got ${code}`);
  return {
    ...describe(spec, code),
    volts: null,
    isOutside: false,
    powerOfTwo: divisorCode(low, fsr, codes, code),
    oneLess: divisorCode(low, fsr, codes - 1, code),
  };
}

function describe(spec: Pick<CaptureSpec, "converter" | "frontEnd">, code: number) {
  const scale = scaleOf(spec.converter);
  const middle = voltageOfCode(scale, code);
  return {
    code,
    window: {
      from: code === 0 ? null : idealTransition(scale, code),
      to: code === scale.topCode ? null : idealTransition(scale, code + 1),
    },
    middle,
    atSource: spec.frontEnd === null ? null : atSource(spec, middle),
    logged: loggedWord(spec, code, scale.topCode),
  };
}

function divisorCode(low: Volts, fsr: Volts, divisor: number, code: number): DivisorCode {
  return { divisor, code, volts: low + (code * fsr) / divisor };
}

function loggedWord({ converter }: Pick<CaptureSpec, "converter">, code: number, topCode: number): number | null {
  const { coding, align, container } = converter;
  const bits = Math.ceil(Math.log2(topCode + 1));
  const shift = align === "left" ? container - bits : 0;
  const word = (coding === "twos-complement" ? code - 2 ** (bits - 1) : code) * 2 ** shift;
  return word === code ? null : word;
}

/** To the nearest whole number where only the rounding of doubles, a few parts in 1e15 of the range, keeps it from one. */
function nudge(x: number, codes: number): number {
  const whole = Math.round(x);
  return Math.abs(x - whole) < 1e-12 * Math.max(1, codes) ? whole : x;
}

/**
 * The share of time that a sine spends above a voltage.
 * @returns acos((volts − offset)/amplitude)/π; 0 above its crest, 1 below its trough
 * @example shareAbove(3, 1.7, 1.7) // 0.2228843
 */
export function shareAbove(volts: Volts, amplitude: Volts, offset: Volts): Ratio {
  const x = (volts - offset) / amplitude;
  if (x >= 1) return 0;
  if (x <= -1) return 1;
  return Math.acos(x) / Math.PI;
}
