import type { WordList } from "./growable.ts";

const LF = 10;
const CR = 13;
/** So many digits cannot overflow 32 bits signed; longer ones are read the general way. */
const MOST_DIGITS = 9;

/** Value of each byte as a digit, 255 for none. */
const DIGIT = new Uint8Array(256).fill(255);
for (let d = 0; d < 10; d++) DIGIT[48 + d] = d;
const HEX_DIGIT = DIGIT.slice();
for (let d = 0; d < 6; d++) {
  HEX_DIGIT[65 + d] = 10 + d;
  HEX_DIGIT[97 + d] = 10 + d;
}

export { DIGIT, HEX_DIGIT };

/**
 * Reads lines that hold one whole decimal number and nothing else, until a line is anything else.
 * @param to   the byte after a line feed: every line in from…to is whole
 * @param out  takes the codes; must have room for (to − from)/2 more
 * @returns where the first line begins that it did not read; `to` when it read them all
 */
export function scanDecimalCodes(bytes: Uint8Array, from: number, to: number, out: WordList): number {
  const { words } = out;
  let n = out.length;
  let at = from;
  while (at < to) {
    let i = at;
    let c = bytes[i]!;
    let negative = false;
    if (c === 0x2d) {
      negative = true;
      c = bytes[++i]!;
    }
    let digit = c - 48;
    if (digit < 0 || digit > 9) break;
    const first = i;
    let value = digit;
    for (;;) {
      c = bytes[++i]!;
      digit = c - 48;
      if (digit < 0 || digit > 9) break;
      value = (Math.imul(value, 10) + digit) | 0;
    }
    if (i - first > MOST_DIGITS) break;
    if (c !== LF) {
      if (c !== CR || bytes[i + 1] !== LF) break;
      i++;
    }
    words[n++] = negative ? -value : value;
    at = i + 1;
  }
  out.length = n;
  return at;
}

/**
 * Reads lines that hold decimal numbers and nothing else, several a line, until a line is anything else.
 * @param delimiter  the byte between them, 32 for blanks; one more behind the last number is allowed
 * @param counted    its `lines` grows by the lines read
 */
export function scanDecimalLists(
  bytes: Uint8Array,
  from: number,
  to: number,
  out: WordList,
  delimiter: number,
  counted: { lines: number },
): number {
  const { words } = out;
  let n = out.length;
  let at = from;
  line: while (at < to) {
    let i = at;
    let m = n;
    while (bytes[i] === 32) i++;
    for (;;) {
      let c = bytes[i]!;
      let negative = false;
      if (c === 0x2d) {
        negative = true;
        c = bytes[++i]!;
      }
      let digit = c - 48;
      if (digit < 0 || digit > 9) break line;
      const first = i;
      let value = digit;
      for (;;) {
        c = bytes[++i]!;
        digit = c - 48;
        if (digit < 0 || digit > 9) break;
        value = (Math.imul(value, 10) + digit) | 0;
      }
      if (i - first > MOST_DIGITS) break line;
      words[m++] = negative ? -value : value;
      let parted = false;
      while (c === 32 || (delimiter === 32 && c === 9)) {
        parted = delimiter === 32;
        c = bytes[++i]!;
      }
      if (c === delimiter && delimiter !== 32) {
        parted = true;
        c = bytes[++i]!;
        while (c === 32) c = bytes[++i]!;
      }
      if (c === CR && bytes[i + 1] === LF) c = bytes[++i]!;
      if (c === LF) break;
      if (!parted) break line;
    }
    n = m;
    counted.lines++;
    at = i + 1;
  }
  out.length = n;
  return at;
}

/** The same for bare hexadecimal numbers of at most eight digits, an 0x before them allowed. */
export function scanHexadecimalCodes(bytes: Uint8Array, from: number, to: number, out: WordList): number {
  const { words } = out;
  let n = out.length;
  let at = from;
  while (at < to) {
    let i = at;
    if (bytes[i] === 48 && (bytes[i + 1]! | 32) === 120) i += 2;
    const first = i;
    let value = 0;
    let c = bytes[i]!;
    for (;;) {
      const digit = HEX_DIGIT[c]!;
      if (digit === 255) break;
      value = (value << 4) | digit;
      c = bytes[++i]!;
    }
    if (i === first || i - first > 8) break;
    if (c !== LF) {
      if (c !== CR || bytes[i + 1] !== LF) break;
      i++;
    }
    words[n++] = value;
    at = i + 1;
  }
  out.length = n;
  return at;
}
