import { type LineProgram, STEP } from "./lineProgram.ts";
import { DIGIT, HEX_DIGIT } from "./scanCodes.ts";

const COLON = 0x3a;
const LF = 10;
const CR = 13;
const POWERS = Float64Array.from({ length: 16 }, (_, k) => 10 ** k);

/** First bytes of a comment: whether it is one is decided the general way. */
const MAY_COMMENT = new Uint8Array(256);
for (const c of "#%/-;*!Rr") MAY_COMMENT[c.charCodeAt(0)] = 1;

/** A program made ready to run, with the numbers of the line it is at. */
export interface RunningProgram {
  readonly program: LineProgram;
  readonly values: Float64Array;
  readonly take: (values: Float64Array, clock: ClockParts) => void;
}

/** A clock time of the line: what the collector needs besides its whole seconds. */
export interface ClockParts {
  fraction: number;
  digits: number;
}

/**
 * Reads lines by a program until one does not follow it.
 * @param to       the byte after a line feed: every line in from…to is whole
 * @param counted  its `lines` grows by the lines read
 * @returns where the first line begins that was not read; `to` when all were
 */
export function scanByProgram(
  bytes: Uint8Array,
  from: number,
  to: number,
  running: RunningProgram,
  counted: { lines: number },
): number {
  const { program, values, take } = running;
  const { steps, operands, slots } = program;
  const count = steps.length;
  const clock: ClockParts = { fraction: 0, digits: 0 };
  let at = from;
  line: while (at < to) {
    let i = at;
    if (MAY_COMMENT[bytes[i]!] === 1 && steps[0] !== STEP.literal) {
      // A minus sign may as well be a number's.
      if (bytes[i] !== 0x2d || bytes[i + 1] === 0x2d) break;
    }
    for (let s = 0; s < count; s++) {
      switch (steps[s]) {
        case STEP.literal:
          if (bytes[i] !== operands[s]) break line;
          i++;
          break;
        case STEP.someBlanks:
          if (bytes[i] !== 32 && bytes[i] !== 9) break line;
          i++;
          while (bytes[i] === 32 || bytes[i] === 9) i++;
          break;
        case STEP.blanks:
          while (bytes[i] === 32) i++;
          break;
        case STEP.whole: {
          let negative = false;
          if (bytes[i] === 0x2d) {
            negative = true;
            i++;
          }
          const slot = slots[operands[s]!]!;
          const hex = slot.base === 16;
          if (hex && negative) break line;
          if (hex && bytes[i] === 48 && (bytes[i + 1]! | 32) === 120) i += 2;
          else if (slot.marked === true) break line;
          const table = hex ? HEX_DIGIT : DIGIT;
          const first = i;
          let value = 0;
          for (;;) {
            const digit = table[bytes[i]!]!;
            if (digit === 255) break;
            value = hex ? (value << 4) | digit : (Math.imul(value, 10) + digit) | 0;
            i++;
          }
          if (i === first || i - first > (hex ? 8 : 9)) break line;
          values[operands[s]!] = negative ? -value : value;
          break;
        }
        case STEP.real: {
          let negative = false;
          if (bytes[i] === 0x2d) {
            negative = true;
            i++;
          }
          const first = i;
          let value = 0;
          for (;;) {
            const digit = bytes[i]! - 48;
            if (!(digit >= 0 && digit <= 9)) break;
            value = value * 10 + digit;
            i++;
          }
          let digits = i - first;
          if (digits === 0) break line;
          if (bytes[i] === (slots[operands[s]!]!.point ?? 0x2e)) {
            const point = ++i;
            for (;;) {
              const digit = bytes[i]! - 48;
              if (!(digit >= 0 && digit <= 9)) break;
              value = value * 10 + digit;
              i++;
            }
            const decimals = i - point;
            digits += decimals;
            if (digits > 15 || decimals === 0) break line;
            // Both are exact below 2^53 and 10^22, so one division rounds as a full conversion does.
            value /= POWERS[decimals]!;
          } else if (digits > 15) break line;
          values[operands[s]!] = negative ? -value : value;
          break;
        }
        case STEP.clock: {
          const hours = twoDigits(bytes, i);
          const minutes = twoDigits(bytes, i + 3);
          const seconds = twoDigits(bytes, i + 6);
          if (bytes[i + 2] !== COLON || bytes[i + 5] !== COLON) break line;
          if (!(hours >= 0 && hours <= 24 && minutes >= 0 && minutes <= 59 && seconds >= 0 && seconds <= 60))
            break line;
          i += 8;
          clock.fraction = 0;
          clock.digits = 0;
          if (bytes[i] === 0x2e) {
            const point = ++i;
            let value = 0;
            for (;;) {
              const digit = bytes[i]! - 48;
              if (!(digit >= 0 && digit <= 9)) break;
              value = value * 10 + digit;
              i++;
            }
            const decimals = i - point;
            if (decimals === 0 || decimals > 9 || bytes[i] === 0x2c) break line;
            clock.fraction = value / POWERS[decimals]!;
            clock.digits = decimals;
          }
          values[operands[s]!] = hours * 3600 + minutes * 60 + seconds;
          break;
        }
        case STEP.text: {
          const stop = slots[operands[s]!]!.stop ?? 32;
          const first = i;
          for (;;) {
            const c = bytes[i]!;
            if (c === stop || c < 32 || c > 126) break;
            if (c === 0x22) break line;
            i++;
          }
          if (i === first && stop === 32) break line;
          break;
        }
        default:
          if (bytes[i] === CR && bytes[i + 1] === LF) i++;
          if (bytes[i] !== LF) break line;
          i++;
      }
    }
    take(values, clock);
    counted.lines++;
    at = i;
  }
  return at;
}

/** Two digits as a number; negative or NaN when they are none. */
function twoDigits(bytes: Uint8Array, at: number): number {
  const tens = bytes[at]! - 48;
  const ones = bytes[at + 1]! - 48;
  return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? 10 * tens + ones : -1;
}
