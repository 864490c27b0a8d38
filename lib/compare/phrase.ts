import { significant } from "../judge/significant.ts";
import type { Difference } from "./difference.ts";

const PREFIXES = [
  [1, ""],
  [1e-3, "m"],
  [1e-6, "µ"],
  [1e-9, "n"],
] as const;

/**
 * A difference in a sentence, rounded by its own uncertainty: "+0.71 ± 0.04 bit", "−310 ± 20 µV".
 * Source: JCGM 100:2008, 7.2.6 (two significant digits of the uncertainty).
 */
export function phraseDifference(d: Difference, unit: string): string {
  if (d.value === null) {
    if (d.low !== null) return `at least ${phraseValue(d.low, unit)}`;
    if (d.high !== null) return `at most ${phraseValue(d.high, unit)}`;
    return "not known";
  }
  const { factor, name } = prefix(Math.max(Math.abs(d.value), d.uncertainty ?? 0), unit);
  const sign = d.value > 0 ? "+" : "";
  if (d.uncertainty === null || !(d.uncertainty > 0)) return `${sign}${significant(d.value / factor, 3)} ${name}`;
  const u = d.uncertainty / factor;
  const place = Math.max(0, 1 - Number(u.toExponential(1).split("e")[1]));
  const text = (d.value / factor).toFixed(Math.min(20, place)).replace("-", "−");
  return `${sign}${text} ± ${significant(u)} ${name}`;
}

/** A number with its unit, volts with a prefix. */
export function phraseValue(value: number, unit: string, digits = 3): string {
  const { factor, name } = prefix(Math.abs(value), unit);
  return `${significant(value / factor, digits)} ${name}`;
}

function prefix(size: number, unit: string): { factor: number; name: string } {
  if (unit !== "V" && unit !== "V/s") return { factor: 1, name: unit };
  const [factor, letter] = PREFIXES.find(([f]) => size >= 0.99999 * f) ?? PREFIXES[size === 0 ? 0 : 3];
  return { factor, name: `${letter}${unit}` };
}

/** A number that is known exactly, or not known better: at most so many digits, without zeros at the end. */
export function brief(value: number, digits = 3): string {
  const text = significant(value, digits);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

/** A rate: "25.6 kHz". */
export function phraseRate(hertz: number): string {
  const [divisor, unit] = hertz >= 999_500 ? [1e6, "MHz"] : hertz >= 999.5 ? [1e3, "kHz"] : [1, "Hz"];
  return `${brief(hertz / divisor)} ${unit}`;
}
