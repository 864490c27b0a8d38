/** How the numbers of one column are written. Decided once by the whole column, then held to for every line. */
export interface NumberFormat {
  readonly kind: "whole" | "real" | "clock" | "text";
  readonly base: 2 | 8 | 10 | 16;
  readonly decimal: "." | ",";
  /** The character between groups of three digits, or null. */
  readonly group: string | null;
}

export const DECIMAL: NumberFormat = { kind: "whole", base: 10, decimal: ".", group: null };

/** Codes are kept as 32-bit words: −2^31…2^32−1 can be logged, the upper half comes as its signed value. */
export function isWord(value: number): boolean {
  return value >= -(2 ** 31) && value < 2 ** 32;
}

/** An exponent needs a point or a sign: 20E3 is hexadecimal or damage. */
const REAL = /^[+-]?(?:(?:\d+\.\d*|\.\d+)(?:[eE][+-]?\d{1,3})?|\d+(?:[eE][+-]\d{1,3})?)$/;

/** A field without its wrapping: quotes, a spreadsheet's ="…", blanks. */
export function bareField(field: string): string {
  let s = field.trim();
  if (s.length > 1) {
    if (s.startsWith('="') && s.endsWith('"')) s = s.slice(2, -1).trim();
    else if ((s[0] === '"' || s[0] === "'") && s[s.length - 1] === s[0]) s = s.slice(1, -1).trim();
  }
  return s;
}

/**
 * A whole number written in the column's base.
 * @returns NaN when the field is not one. `2044.0` and `2.044e3` are whole; `2044.5` is not.
 */
export function parseWhole(field: string, format: NumberFormat): number {
  return wholeValue(bareField(field), format);
}

function wholeValue(s: string, format: NumberFormat): number {
  if (s === "") return Number.NaN;
  const prefixed = prefixedValue(s, format.base);
  if (prefixed !== null) return prefixed;
  if (format.base === 10) {
    if (/^[+-]?\d{1,20}$/.test(s)) return Number(s);
    const real = parseReal(s, format);
    return Number.isInteger(real) ? real : Number.NaN;
  }
  if (format.base === 16) {
    const m = /^([+-]?)(?:\$|#|&[hH]|[xX]|[hH]'|16#)?([0-9A-Fa-f]{1,8})[hH]?$/.exec(s.replace(/_/g, ""));
    return m ? signed(m[1]!, Number.parseInt(m[2]!, 16)) : Number.NaN;
  }
  if (format.base === 8) {
    const m = /^([+-]?)([0-7]{1,11})$/.exec(s);
    return m ? signed(m[1]!, Number.parseInt(m[2]!, 8)) : Number.NaN;
  }
  const m = /^([+-]?)%?([01]{1,32})[bB]?$/.exec(s.replace(/[_ ]/g, ""));
  return m ? signed(m[1]!, Number.parseInt(m[2]!, 2)) : Number.NaN;
}

/** 0x…, 0b…, 0o… say their base themselves. */
function prefixedValue(s: string, base: number): number | null {
  // In a hexadecimal column 0B10 is a number of four digits.
  if (base === 16 && !/^[+-]?0[xX]/.test(s)) return null;
  const m = /^([+-]?)0([xXbBoO])([0-9A-Fa-f_]{1,40})(?:[uUlL]{0,3})$/.exec(s);
  if (m === null) return null;
  const digits = m[3]!.replace(/_/g, "");
  const kind = m[2]!.toLowerCase();
  if (kind === "x") return /^[0-9a-f]{1,8}$/i.test(digits) ? signed(m[1]!, Number.parseInt(digits, 16)) : Number.NaN;
  if (kind === "b") return /^[01]{1,32}$/.test(digits) ? signed(m[1]!, Number.parseInt(digits, 2)) : null;
  return /^[0-7]{1,11}$/.test(digits) ? signed(m[1]!, Number.parseInt(digits, 8)) : Number.NaN;
}

function signed(sign: string, value: number): number {
  return sign === "-" ? -value : value;
}

/** A real number in the column's decimal and grouping characters; NaN when it is not one. */
export function parseReal(field: string, format: NumberFormat): number {
  let s = bareField(field);
  if (format.group !== null && s.includes(format.group)) {
    const g = format.group;
    const [whole = "", ...rest] = s.split(format.decimal);
    const parts = whole.split(g);
    // A group of other than three digits is no grouping: the field is damaged.
    if (!/^[+-]?\d{1,3}$/.test(parts[0] ?? "") || !parts.slice(1).every((p) => /^\d{3}$/.test(p))) return Number.NaN;
    s = [parts.join(""), ...rest].join(format.decimal);
  }
  if (format.decimal === ",") s = s.includes(".") || s.endsWith(",") ? "" : s.replace(",", ".");
  return REAL.test(s) ? Number(s) : Number.NaN;
}
