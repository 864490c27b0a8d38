import { parseClock } from "./clockTime.ts";
import { bareField, DECIMAL, type NumberFormat, parseReal, parseWhole } from "./numberFormat.ts";

/** What the fields of one column look like, over the beginning of the log. */
export interface ColumnFacts {
  readonly format: NumberFormat;
  /** Fields that are not empty. */
  readonly filled: number;
  readonly fields: number;
  /** Share of the filled fields that the format reads. */
  readonly readable: number;
  /** Digits only, so that a later letter may show that the column is hexadecimal (or that 0s and 1s were decimal). */
  readonly ambiguous: boolean;
  /** The readable fields as numbers, in order; NaN where a field is not. Clock times are in seconds. */
  readonly numbers: readonly number[];
  readonly fewestDigits: number;
  readonly mostDigits: number;
  /** Digits to which all fields are filled up with zeros, a base's mark left out; 0 where they are not. */
  readonly paddedTo: number;
}

const PLAIN = /^[+-]?\d+$/;
const DIGITS = /^\d{1,8}$/;
const HEX_LETTERS = /^[0-9A-Fa-f]{1,8}$/;
const HEX_MARKED = /^[+-]?(?:0[xX][0-9A-Fa-f_]+|(?:\$|#|&[hH]|[xX]|16#)[0-9A-Fa-f]{1,8}|[0-9A-Fa-f]{1,8}[hH])$/;
const BINARY_MARKED = /^(?:0[bB][01_]+|%[01]+|[01]{2,}[bB])$/;
const DOT = /^[+-]?(?:(?:\d+\.\d*|\.\d+)(?:[eE][+-]?\d{1,3})?|\d+[eE][+-]\d{1,3})$/;
const COMMA = /^[+-]?(?:\d+,\d+|,\d+)(?:[eE][+-]?\d{1,3})?$/;
// No number needs more than fifteen digits: a line of many three-digit codes is not one number.
const GROUPED = /^[+-]?\d{1,3}(?:([,.'’_ \u00a0\u2009\u202f])\d{3})(?:\1\d{3}){0,3}([.,]\d+)?$/;
const GROUPED_WHOLE = /^[+-]?\d{1,3}(?:([,.'’_ \u00a0\u2009\u202f])\d{3})(?:\1\d{3}){0,3}$/;

/**
 * Decides how a column is written from all its fields together, never from one of them: `10` is ten, two or sixteen depending on its neighbours.
 * @param fields  the column's fields as text, header left out
 * @param force   base and decimal character where a person stated them
 */
export function columnFormat(
  fields: readonly string[],
  force: { base?: NumberFormat["base"]; decimal?: "." | "," } = {},
): ColumnFacts {
  const texts = fields.map(bareField);
  const filledTexts = texts.filter((t) => t !== "");
  const filled = filledTexts.length;
  const count = (test: RegExp): number => filledTexts.reduce((n, t) => n + (test.test(t) ? 1 : 0), 0);
  const finish = (format: NumberFormat, ambiguous = false): ColumnFacts => facts(texts, filled, format, ambiguous);

  if (filled === 0) return finish({ ...DECIMAL, kind: "text" });
  // Digits and nothing else, as most columns are: none of the tests below would say otherwise.
  if (force.base === undefined && filledTexts.every((t) => DIGITS.test(t)) && !isBareBinary(filledTexts))
    return finish({ kind: "whole", base: 10, decimal: force.decimal ?? ".", group: null }, true);
  if (areNames(filledTexts)) return finish({ ...DECIMAL, kind: "text" });
  const clocks = filledTexts.reduce((n, t) => n + (parseClock(t) ? 1 : 0), 0);
  if (clocks >= 0.8 * filled) return finish({ ...DECIMAL, kind: "clock" });

  const plain = count(PLAIN);
  const dots = count(DOT);
  const commas = count(COMMA);
  const grouped = groupCharacter(filledTexts, force.decimal);
  const decimal = force.decimal ?? (commas > dots && grouped !== "," ? "," : ".");

  if (force.base !== undefined && force.base !== 10) {
    const format: NumberFormat = { kind: "whole", base: force.base, decimal, group: null };
    const forced = finish(format);
    // A stated base is about the codes; a column that it cannot read (time stamps with a point) keeps its own.
    if (forced.readable >= 0.5) return forced;
  }
  if (force.base === undefined) {
    const hexMarked = count(HEX_MARKED);
    const binaryMarked = count(BINARY_MARKED);
    if (hexMarked >= 0.5 * filled) return finish({ ...DECIMAL, base: 16 });
    if (binaryMarked >= 0.5 * filled) return finish({ ...DECIMAL, base: 2 });
    const lettered = filledTexts.filter((t) => HEX_LETTERS.test(t) && !PLAIN.test(t));
    const withDigits = filledTexts.some((t) => /\d/.test(t));
    if (lettered.length > 0 && withDigits && plain + lettered.length >= 0.7 * filled && dots <= 0.05 * filled) {
      if (isHexadecimal(filledTexts, lettered.length)) return finish({ ...DECIMAL, base: 16 });
    }
    if (isBareBinary(filledTexts)) return finish({ ...DECIMAL, base: 2 }, false);
  }
  const group = grouped;
  // One fraction among many whole numbers is damage; a column of fractions is real.
  const fractions = filled >= 20 ? 0.05 * filled : 0;
  if (
    plain + (group !== null ? count(GROUPED_WHOLE) : 0) >= 0.5 * filled &&
    (group !== null || dots + commas <= fractions)
  ) {
    const ambiguous =
      force.base === undefined && group === null && filledTexts.every((t) => !/^\d+$/.test(t) || t.length <= 8);
    return finish({ kind: "whole", base: 10, decimal, group }, ambiguous);
  }
  const real: NumberFormat = { kind: "real", base: 10, decimal, group };
  const asReal = finish(real);
  if (asReal.readable >= 0.5) {
    // Whole numbers that were printed through a float, `2044.0` or `2.044e+03`, are codes.
    if (asReal.numbers.every((v) => Number.isNaN(v) || Number.isInteger(v)))
      return { ...asReal, format: { ...real, kind: "whole" } };
    return asReal;
  }
  if (plain >= 0.5 * filled) return finish({ kind: "whole", base: 10, decimal, group });
  return finish({ ...DECIMAL, kind: "text" });
}

/** ADC0, ADC1, $ADC: names that happen to be hexadecimal. */
function areNames(fields: readonly string[]): boolean {
  return (
    fields.every((t) => /^\$?adc/i.test(t)) &&
    new Set(fields).size <= 32 &&
    new Set(fields.map((t) => t.slice(0, 4))).size <= 16
  );
}

function facts(texts: readonly string[], filled: number, format: NumberFormat, ambiguous: boolean): ColumnFacts {
  const numbers: number[] = [];
  let readable = 0;
  let fewestDigits = Number.POSITIVE_INFINITY;
  let mostDigits = 0;
  const bare = new Set<number>();
  let isPadded = false;
  const isDecimal = format.base === 10 && format.kind === "whole";
  for (const text of texts) {
    // As most fields are: there is nothing to take away.
    const isBare = isDecimal && DIGITS.test(text);
    const value = text === "" ? Number.NaN : isBare ? Number(text) : parseNumber(text, format);
    numbers.push(value);
    if (Number.isNaN(value)) continue;
    readable++;
    const digits = isBare ? text.length : text.replace(/[^0-9A-Fa-f]/g, "").length;
    fewestDigits = Math.min(fewestDigits, digits);
    mostDigits = Math.max(mostDigits, digits);
    const unmarked = isBare ? text : withoutMark(text, format.base);
    bare.add(unmarked.length);
    isPadded ||= unmarked.length > 1 && unmarked.startsWith("0");
  }
  if (format.kind === "text") readable = filled;
  return {
    format,
    filled,
    fields: texts.length,
    readable: filled === 0 ? 0 : readable / filled,
    ambiguous,
    numbers,
    fewestDigits: readable === 0 ? 0 : fewestDigits,
    mostDigits,
    paddedTo: isPadded && bare.size === 1 ? [...bare][0]! : 0,
  };
}

/** A whole number without sign and without what marks its base: `0b19` is binary only where the column is. */
export function withoutMark(text: string, base: NumberFormat["base"]): string {
  const mark = base === 16 ? /^[+-]?(?:0[xX]|16#|&[hH]|[xX$#])?|[hH]$/g : base === 2 ? /^(?:0[bB]|%)?|[bB]$/g : /^[+-]/;
  return text.replace(mark, "");
}

/** A field as a number by the column's format: whole, real, or seconds of a clock time. NaN when it is not one. */
export function parseNumber(text: string, format: NumberFormat): number {
  if (format.kind === "clock") {
    const clock = parseClock(text);
    return clock === null ? Number.NaN : clock.whole + clock.fraction;
  }
  if (format.kind === "text") return Number.NaN;
  return format.kind === "whole" ? parseWhole(text, format) : parseReal(text, format);
}

/**
 * Are digits with letters among them hexadecimal, or a decimal column with damaged fields? Letters in one field of twenty or more settle it. Below,
 * a step such as 809 → 810 settles it for decimal: in hexadecimal 80A lies between.
 */
export function isHexadecimal(fields: readonly string[], lettered: number): boolean {
  if (lettered >= 0.05 * fields.length) return true;
  let previous = Number.NaN;
  for (const text of fields) {
    const value = /^\d+$/.test(text) ? Number(text) : Number.NaN;
    if (Math.floor(previous / 10) !== Math.floor(value / 10) && Math.abs(value - previous) <= 5) return false;
    previous = value;
  }
  return true;
}

/** Only 0s and 1s, all of one width, and a width or a leading zero that no decimal print would show. */
function isBareBinary(fields: readonly string[]): boolean {
  if (!fields.every((t) => /^[01][01_ ]*$/.test(t))) return false;
  const width = fields[0]!.length;
  if (width < 4 || !fields.every((t) => t.length === width)) return false;
  if (width > 9 || fields.some((t) => t.startsWith("0"))) return true;
  return new Set(fields).size > 4;
}

/**
 * The character between groups of three digits. A comma or point may as well be the decimal character: groups are believed where two of them stand
 * in one number, where the decimal character is a different one, or where smaller numbers of the column go without.
 */
function groupCharacter(fields: readonly string[], decimal: "." | "," | undefined): string | null {
  const characters = new Map<string, number>();
  let certain = false;
  let contradicted = false;
  let wholeBelow1000 = 0;
  let others = 0;
  let leadingZero = false;
  for (const text of fields) {
    const m = GROUPED.exec(text);
    if (m === null) {
      if (/^[+-]?\d{1,3}$/.test(text)) wholeBelow1000++;
      else others++;
      continue;
    }
    characters.set(m[1]!, (characters.get(m[1]!) ?? 0) + 1);
    if (/^[+-]?0/.test(text)) leadingZero = true;
    if (text.split(m[1]!).length > 2 || m[2] !== undefined) certain = true;
    if (m[2]?.[0] === m[1]) contradicted = true;
  }
  if (characters.size !== 1 || contradicted || leadingZero) return null;
  const [[character, grouped]] = [...characters] as [[string, number]];
  if (decimal === character) return null;
  if (character !== "," && character !== ".") return character;
  if (certain || decimal !== undefined) return character;
  // "1.234" alone is a real number with three decimals; beside plain numbers below 1000 and nothing else it is a thousand and more.
  if (others > 0.05 * fields.length) return null;
  return wholeBelow1000 > 0 || (character === "," && grouped === fields.length) ? character : null;
}
