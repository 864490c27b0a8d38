import { type LineProgram, STEP } from "./lineProgram.ts";
import type { RowCollector } from "./rowCollector.ts";
import { DIGIT, HEX_DIGIT } from "./scanCodes.ts";

const LF = 10;
const CR = 13;
const POWERS = Float64Array.from({ length: 16 }, (_, k) => 10 ** k);

/**
 * Reads lines by a program until one does not follow it.
 * @param to  the byte after a line feed: every line in from…to is whole
 * @returns where the first line begins that was not read; `to` when all were
 */
export function scanByProgram(
  bytes: Uint8Array,
  from: number,
  to: number,
  program: LineProgram,
  collector: RowCollector,
): number {
  const { steps, operands, slots } = program;
  const count = steps.length;
  const values = new Float64Array(slots.length);
  const take = collector.taker(slots.map((s) => s.column));
  let at = from;
  line: while (at < to) {
    let i = at;
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
          const hex = slots[operands[s]!]!.base === 16;
          if (hex && (negative || (bytes[i] === 48 && (bytes[i + 1]! | 32) === 120))) {
            if (negative) break line;
            i += 2;
          }
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
          if (bytes[i] === 0x2e) {
            const point = ++i;
            for (;;) {
              const digit = bytes[i]! - 48;
              if (!(digit >= 0 && digit <= 9)) break;
              value = value * 10 + digit;
              i++;
            }
            const decimals = i - point;
            digits += decimals;
            if (digits > 15) break line;
            // Both are exact below 2^53 and 10^22, so one division rounds as a full conversion does.
            if (decimals > 0) value /= POWERS[decimals]!;
          } else if (digits > 15) break line;
          values[operands[s]!] = negative ? -value : value;
          break;
        }
        case STEP.text: {
          const stop = steps[s + 1] === STEP.blanks ? operands[s + 2]! : 32;
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
    take(values);
    at = i;
  }
  return at;
}
