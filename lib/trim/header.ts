import type { Trim } from "./trim.ts";

/** Free text inside a C comment: nothing in it may end the comment or the line. */
function commentText(text: string): string {
  return text
    .replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, " ")
    .replace(/\*\//g, "* /")
    .replace(/\/\*/g, "/ *")
    .replace(/\\/g, "/")
    .replace(/\?\?/g, "? ?");
}

/** Breaks a text into lines of a block comment. */
function comment(lines: readonly string[], width = 96): string {
  const out: string[] = [];
  for (const line of lines) {
    let current = "";
    for (const word of commentText(line).split(" ")) {
      if (current !== "" && current.length + 1 + word.length > width) {
        out.push(current);
        current = "";
      }
      current += (current === "" ? "" : " ") + word;
    }
    out.push(current);
  }
  return `/* ${out.join("\n * ")}\n */`;
}

/** Nine digits bring every 32-bit floating-point number back exactly. */
function float(value: number): string {
  const text = value.toPrecision(9);
  const plain = /[.e]/.test(text) ? text : `${text}.0`;
  return value < 0 ? `(${plain}f)` : `${plain}f`;
}

/** A signed whole number, so written that no literal is too large for its type. */
function whole(value: number, bits: number): string {
  const text =
    bits === 64 ? `INT64_C(${Math.abs(value)})` : bits === 32 ? `INT32_C(${Math.abs(value)})` : `${Math.abs(value)}`;
  return value < 0 ? `(-${text})` : text;
}

/** Volts with enough digits for a 32-bit converter, in a comment. */
function sayLsb(max: number, rms: number): string {
  return `${max.toFixed(3)} LSB at most, ${rms.toFixed(3)} LSB rms`;
}

/**
 * A trim as a C header: C99, fixed-width types, no division, no shift of a negative number, nothing but <stdint.h>.
 * @param prefix   a C identifier that begins every name
 * @param heading  lines for the head comment: where the constants come from, what they hold for
 * @throws RangeError  prefix is no C identifier
 */
export function trimHeader(trim: Trim, options: { prefix: string; heading: readonly string[] }): string {
  const { prefix } = options;
  if (!/^[A-Za-z_][A-Za-z0-9_]*$/.test(prefix))
    throw new RangeError(`trimHeader: prefix must be a C identifier; got ${JSON.stringify(prefix)}`);
  const P = prefix.toUpperCase();
  const { scale, volts, fixed, table, residual, source } = trim;
  const signed = source.capture.converter.coding === "twos-complement";
  const codeBits = scale.topCode < 2 ** 16 ? 16 : 32;
  const codeType = `${signed ? "" : "u"}int${codeBits}_t`;
  const sum = `int${fixed.accumulator}_t`;
  // Mid-scale of the logged codes; firmware averaging stretches it with them.
  const half = Math.round(2 ** (scale.bits - 1));
  const plain = signed ? `(${sum})((${sum})code + ${P}_HALF)` : `(${sum})code`;
  const back = signed ? ` - ${P}_HALF` : "";
  const hold = [`  if (y > ${P}_TOP_CODE) y = ${P}_TOP_CODE;`, ...(signed ? ["  if (y < 0) y = 0;"] : [])];
  const finish = [
    `  if (y < 0) y = 0;`,
    `  if (y > ${P}_TOP_CODE) y = ${P}_TOP_CODE;`,
    `  return (${codeType})(y${back});`,
    "}",
  ];
  const native = signed ? "two's-complement code, right-aligned" : "plain binary code, right-aligned";
  const parts = [
    comment([...options.heading, ...trim.cautions]),
    `#ifndef ${P}_H\n#define ${P}_H\n\n#include <stdint.h>`,
    `#define ${P}_TOP_CODE ${whole(scale.topCode, fixed.accumulator)}${signed ? `\n#define ${P}_HALF ${whole(half, fixed.accumulator)}` : ""}`,
    comment([
      `Floating point: volts at the pin = VOLTS_PER_CODE * code + VOLTS_AT_ZERO, the code as the converter gives it. Residual ${sayLsb(residual.float.max, residual.float.rms)}.`,
    ]),
    [
      `#define ${P}_VOLTS_PER_CODE ${float(volts.perCode)}`,
      `#define ${P}_VOLTS_AT_ZERO ${float(volts.atCodeZero + (signed ? half * volts.perCode : 0))}`,
      "",
      `static inline float ${prefix}_volts(${codeType} code)`,
      "{",
      `  return ${P}_VOLTS_PER_CODE * (float)code + ${P}_VOLTS_AT_ZERO;`,
      "}",
    ].join("\n"),
    comment([
      `Fixed point: from a code to the code that an ideal converter would give (${native}). The accumulator has ${fixed.accumulator} bits, signed; the largest value in it is ${fixed.largest}. Rounded to the nearest code, halves upwards; held inside the code range. Residual ${sayLsb(residual.fixed.max, residual.fixed.rms)}, before ${sayLsb(residual.before.max, residual.before.rms)}.`,
    ]),
    [
      `#define ${P}_MULTIPLIER ${whole(fixed.multiplier, fixed.accumulator)}`,
      `#define ${P}_ADDEND ${whole(fixed.addend, fixed.accumulator)}`,
      `#define ${P}_SHIFT ${fixed.shift}`,
      `#define ${P}_BIAS ${fixed.bias}`,
      "",
      `static inline ${codeType} ${prefix}_code(${codeType} code)`,
      "{",
      `  ${sum} y = ${plain};`,
      ...hold,
      `  /* The sum is never negative, so the shift is defined. */`,
      `  y = (${sum})(y - ${P}_BIAS + ((${sum})(y * ${P}_MULTIPLIER + ${P}_ADDEND) >> ${P}_SHIFT));`,
      ...finish,
    ].join("\n"),
  ];
  if (table !== null && residual.table !== null) {
    const rows: string[] = [];
    for (let i = 0; i < table.entries.length; i += 12) rows.push(`  ${table.entries.slice(i, i + 12).join(", ")}`);
    const tableShift = table.stepShift + table.fraction;
    parts.push(
      comment([
        `Table of ${table.entries.length} points, in 1/${2 ** table.fraction} LSB, one every ${2 ** table.stepShift} codes, straight lines between: takes the bow of the converter out as well. Use it instead of ${prefix}_code, not after it. Residual ${sayLsb(residual.table.max, residual.table.rms)}.`,
      ]),
      [
        `static const int16_t ${prefix}_entries[${table.entries.length}] = {`,
        rows.join(",\n"),
        "};",
        "",
        `static inline ${codeType} ${prefix}_table_code(${codeType} code)`,
        "{",
        `  ${sum} y = ${plain}, here, rise;`,
        ...hold,
        `  here = (${sum})${prefix}_entries[y >> ${table.stepShift}];`,
        `  rise = (${sum})(${prefix}_entries[(y >> ${table.stepShift}) + 1] - here) * (y & ${2 ** table.stepShift - 1});`,
        `  y = (${sum})(y - ${table.bias} + ((${sum})(here * ${2 ** table.stepShift} + rise + ${whole(table.addend, table.accumulator)}) >> ${tableShift}));`,
        ...finish,
      ].join("\n"),
    );
  }
  return `${[...parts, "#endif"].join("\n\n")}\n`;
}
