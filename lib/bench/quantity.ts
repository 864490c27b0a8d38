import { DIMENSIONS, type Dimension, type DimensionEntry } from "./dimensions.ts";

/** What a text says as a quantity: a value in SI, or why it is none, in words that fit a Problem. */
export type QuantityReading =
  | { readonly ok: true; readonly value: number; readonly bare: boolean }
  | { readonly ok: false; readonly code: QuantityFault; readonly found: string; readonly expected: string };

export type QuantityFault = "not-a-quantity" | "wrong-unit" | "ambiguous-quantity";

/** Powers of ten by prefix letter. Both code points of µ, and the u that keyboards have. */
const PREFIXES: Readonly<Record<string, number>> = {
  f: -15,
  p: -12,
  n: -9,
  u: -6,
  "\u00b5": -6,
  "\u03bc": -6,
  m: -3,
  "": 0,
  k: 3,
  K: 3,
  M: 6,
  G: 9,
};

/** Spaces that editors and spreadsheets put between a number and its unit, or between groups of three digits. */
const SPACE = "[ \\t\\u00a0\\u2007\\u2009\\u202f]";
const NUMBER = new RegExp(
  `^([+-]?)((?:\\d{1,3}(?:(?:${SPACE}|_)\\d{3})+|\\d+)(?:[.,]\\d*)?|[.,]\\d+)(?:[eE]([+-]?\\d{1,4}))?${SPACE}*(.*)$`,
  "s",
);
/** IEC 60062 marking: the prefix (or R, V) stands where the point would be: 4k7, 2R2, 3V3, 4n7. */
const MARKED = new RegExp(`^([+-]?)(\\d+)([RVFfpnu\u00b5\u03bcmkKMG])(\\d+)${SPACE}*(.*)$`, "s");

/**
 * Reads a quantity as an engineer writes it: "3.3V", "20 kHz", "4k7", "4.7 kohm", "50 ppm", "1,5 mV", "−0.3 V".
 * A bare number is taken in the dimension's base unit. Prefixes are case-sensitive where m and M would differ; a unit written in the wrong
 * case is accepted only where nothing else could be meant.
 * @param text  as it stands in the bench file or on the command line
 * @returns the value in SI, correctly rounded (the prefix is applied to the decimal digits, not by multiplication)
 * @example parseQuantity("4k7", "resistance") // { ok: true, value: 4700, bare: true }
 */
export function parseQuantity(text: string | number, dimension: Dimension): QuantityReading {
  const entry = DIMENSIONS[dimension];
  if (typeof text === "number") {
    if (Number.isFinite(text)) return { ok: true, value: text, bare: true };
    return { ok: false, code: "not-a-quantity", found: `${text} is not a number`, expected: example(entry) };
  }
  const shown = quote(text);
  const trimmed = text.trim().replace(/[\u2212\u2013]/gu, "-");

  const marked = MARKED.exec(trimmed);
  if (marked) {
    const [, sign, whole, letter, fraction, unit] = marked as unknown as [
      string,
      string,
      string,
      string,
      string,
      string,
    ];
    const reading = readMarked(`${sign}${whole}.${fraction}`, letter, unit, dimension);
    if (reading) return reading;
  }

  const parts = NUMBER.exec(trimmed);
  if (!parts || /^[\d.,_]/.test(parts[4]!))
    return { ok: false, code: "not-a-quantity", found: `${shown} is not a quantity`, expected: example(entry) };
  const [, sign, digits, exponent = "0", unit] = parts as unknown as [
    string,
    string,
    string,
    string | undefined,
    string,
  ];
  // "1,000" is a thousand to some and one to others; a leading zero or another count of digits leaves one meaning.
  if (/^[1-9]\d{0,2},\d{3}$/.test(digits))
    return {
      ok: false,
      code: "ambiguous-quantity",
      found: `${shown} could be ${digits.replace(",", "")} or ${digits.replace(",", ".")}`,
      expected: "a point for the decimals and no sign between thousands",
    };
  const decimal = `${sign}${digits.replace(new RegExp(`${SPACE}|_`, "g"), "").replace(",", ".")}`;
  if (unit === "") {
    const value = Number(`${decimal}e${exponent}`);
    return Number.isFinite(value)
      ? { ok: true, value, bare: true }
      : { ok: false, code: "not-a-quantity", found: `${shown} is too large`, expected: example(entry) };
  }
  const power = unitPower(unit, entry);
  if (power === "ambiguous")
    return {
      ok: false,
      code: "ambiguous-quantity",
      found: `${shown} leaves open whether milli or mega is meant`,
      expected: `${sign}${digits} m${entry.base} or ${sign}${digits} M${entry.base}`,
    };
  if (power !== null) {
    // Appending the power to the exponent keeps 3.3 mV exactly the double nearest 0.0033.
    const value = Number(`${decimal}e${Number(exponent) + power.exponent}`) * power.factor;
    if (Number.isFinite(value)) return { ok: true, value, bare: false };
    return { ok: false, code: "not-a-quantity", found: `${shown} is too large`, expected: example(entry) };
  }
  const other = dimensionOfUnit(unit);
  const number = `${sign}${digits}${exponent === "0" ? "" : `e${exponent}`}`;
  return {
    ok: false,
    code: "wrong-unit",
    found: other === null ? `${shown} has the unit ${quote(unit)}, which is not known here` : `${shown} is ${other}`,
    expected: example(entry, number),
  };
}

/** "a frequency such as 997 Hz": the expectation, with the person's own number where it fits. */
export function example(entry: DimensionEntry, number?: string): string {
  if (number === undefined || entry.base === "") return `${entry.name} such as ${entry.example}`;
  const negative = number.startsWith("-");
  return `${entry.name} such as ${negative && !entry.signed ? entry.example : `${number} ${entry.base}`}`;
}

/** Text as found, in quotation marks, cut so that a pasted log line does not flood the screen. */
export function quote(text: string): string {
  const plain = text.replace(/[\u0000-\u001f\u007f-\u009f]/gu, "\u00b7");
  return `"${plain.length > 60 ? `${plain.slice(0, 57)}...` : plain}"`;
}

function readMarked(decimal: string, letter: string, unit: string, dimension: Dimension): QuantityReading | null {
  const entry = DIMENSIONS[dimension];
  if (letter === "R" || letter === "V" || letter === "F") {
    if (unit !== "" || entry.mark !== letter) return null;
    return { ok: true, value: Number(decimal), bare: false };
  }
  if (entry.prefixes === "none") return null;
  if (unit !== "" && unitPower(unit, entry) === null) return null;
  if (unit !== "" && entry.units[unit]?.factor !== 1) return null;
  if (letter === "M" && entry.prefixes === "small") return null;
  return { ok: true, value: Number(`${decimal}e${PREFIXES[letter]}`), bare: unit === "" };
}

/** How a unit text scales the number, null when this dimension does not know it, "ambiguous" when only its case could tell milli from mega. */
function unitPower(
  unit: string,
  entry: DimensionEntry,
): { readonly exponent: number; readonly factor: number } | null | "ambiguous" {
  const whole = entry.units[unit];
  if (whole) return whole;
  for (const [symbol, { prefixed, factor }] of Object.entries(entry.units)) {
    if (!prefixed || !unit.endsWith(symbol)) continue;
    const prefix = unit.slice(0, unit.length - symbol.length).trimEnd();
    const exponent = own(PREFIXES, prefix);
    if (exponent === undefined || (prefix === "M" && entry.prefixes === "small")) continue;
    return { exponent, factor };
  }
  // A lone prefix: "4.7k" where only ohms can be meant. "10 m" could be minutes, so time asks for the unit.
  const lone = own(PREFIXES, unit);
  if (lone !== undefined && entry.prefixes === "all") return { exponent: lone, factor: 1 };
  return looseCase(unit, entry);
}

/** Units typed in the wrong case: "20khz", "3.3v", "8 pf". */
function looseCase(unit: string, entry: DimensionEntry): { exponent: number; factor: number } | null | "ambiguous" {
  const lower = unit.toLowerCase();
  for (const [symbol, { prefixed, factor, exponent: base }] of Object.entries(entry.units)) {
    const plain = symbol.toLowerCase();
    if (lower === plain) return { exponent: base, factor };
    if (!prefixed || !lower.endsWith(plain)) continue;
    const prefix = unit.slice(0, unit.length - symbol.length).trimEnd();
    if (prefix.toLowerCase() === "m" && prefix.length === 1) {
      // "Mhz" still says mega; "mhz" says neither, since the writer does not keep to the case of units.
      if (prefix === "M") return entry.prefixes === "small" ? null : { exponent: 6, factor };
      return entry.prefixes === "small" ? { exponent: -3, factor } : "ambiguous";
    }
    const exponent = own(PREFIXES, prefix) ?? own(PREFIXES, prefix.toLowerCase());
    if (exponent !== undefined) return { exponent, factor };
  }
  return null;
}

/** What kind of quantity another unit names: "a voltage", or null. */
function dimensionOfUnit(unit: string): string | null {
  for (const entry of Object.values(DIMENSIONS)) {
    if (entry.base === "") continue;
    const power = unitPower(unit, { ...entry, prefixes: entry.prefixes === "all" ? "units" : entry.prefixes });
    if (power !== null) return entry.name;
    if (entry.prefixes === "small" && /^M/.test(unit) && unitPower(unit.slice(1), entry) !== null)
      return `${entry.name} in ${unit.slice(0, 1)}${entry.base} (mega); m is milli`;
  }
  return null;
}

function own<T>(table: Readonly<Record<string, T>>, key: string): T | undefined {
  return Object.hasOwn(table, key) ? table[key] : undefined;
}
