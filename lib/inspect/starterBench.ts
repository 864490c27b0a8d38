import type { ReadingHints } from "../bench/bench.ts";
import { figure } from "./courseOf.ts";
import type { ChannelInspection, Inspection } from "./inspection.ts";

/** What a person has to fill in. */
export const BLANK = "___";

/**
 * A bench file to start from: what the log shows is filled in, what only the bench knows is left as ___, with a word on each.
 * @param file   the log as the bench file should name it
 * @param hints  options that reading the log needed; they go into the file
 */
export function starterBench(inspection: Inspection, file: string, hints: ReadingHints): string {
  const first = inspection.channels[0]!;
  const bits = first.bits;
  const signed = bits?.signed === true;
  const left =
    bits !== null &&
    bits.unusedLowBits >= 2 &&
    (bits.needed === 16 || bits.needed === 15 || bits.needed === 14 || bits.bits === 16);
  const width = bits === null ? BLANK : left ? bits.bits - bits.unusedLowBits : bits.bits;
  const lines = [
    `# Bench file to start from, written by codestair inspect. Replace every ${BLANK}; then: codestair score THIS-FILE`,
    `title: ${BLANK}            # what is on the bench`,
    "converter:",
    `  bits: ${width}${bits === null ? "" : `                # codes from ${first.min} to ${first.max} suggest it; the data sheet decides`}`,
    `  range: { low: ${signed ? BLANK : "0 V"}, high: ${BLANK} }   # for example 3.3 V`,
  ];
  if (signed) lines.push("  coding: twos-complement   # negative codes were logged");
  if (left)
    lines.push(
      "  align: left",
      `  container: ${bits.bits}             # the lowest ${bits.unusedLowBits} bits are never set`,
    );
  lines.push("captures:");
  for (const channel of inspection.channels) lines.push(...capture(channel, inspection, file, hints));
  lines.push("# limits:", "#   enob: { min: 10 }", "");
  return lines.join("\n");
}

function capture(channel: ChannelInspection, inspection: Inspection, file: string, hints: ReadingHints): string[] {
  const several = inspection.channels.length > 1;
  const name = several ? channel.name : "capture";
  const lines = [`  - name: ${quoted(name)}`, `    file: ${quoted(file)}`];
  if (several || hints.channel !== undefined)
    lines.push(`    channel: ${quoted(String(several ? channel.name : hints.channel))}`);
  if (channel.unit === "V") lines.push("    fromVolts: true        # the log holds volts, no codes");
  const keys = ["time", "timeUnit", "base", "delimiter", "decimal", "header", "encoding", "sequence", "bytes"] as const;
  for (const key of keys)
    if (hints[key] !== undefined)
      lines.push(`    ${key}: ${typeof hints[key] === "string" ? quoted(hints[key]) : hints[key]}`);
  if (hints.tickRate !== undefined) lines.push(`    tickRate: ${hints.tickRate} Hz`);
  if (hints.interleave !== undefined) lines.push(`    interleave: [${hints.interleave.map(quoted).join(", ")}]`);
  const { sampleRate } = inspection;
  if (sampleRate === null) lines.push(`    sampleRate: ${BLANK}        # readings per second, for example 50 kHz`);
  else if (sampleRate.basis === "comment")
    lines.push(`    sampleRate: ${sampleRate.value} Hz     # as a comment in the log says`);
  lines.push("    stimulus:", ...stimulus(channel));
  return lines;
}

function stimulus({ course }: ChannelInspection): string[] {
  switch (course.kind) {
    case "sine":
      return [
        "      kind: sine",
        `      frequency: ${BLANK}       # as the generator was set${course.frequency === null ? "" : `; the log shows about ${figure(course.frequency)} Hz`}`,
        `      amplitude: ${BLANK}       # peak, for example 1.2 V`,
        `      offset: ${BLANK}`,
      ];
    case "triangle":
    case "repeated ramp":
      return [
        "      kind: triangle",
        `      low: ${BLANK}`,
        `      high: ${BLANK}`,
        `      frequency: ${BLANK}${course.frequency === null ? "" : `       # the log shows about ${figure(course.frequency)} Hz`}`,
      ];
    case "ramp":
      return ["      kind: ramp", `      from: ${BLANK}`, `      to: ${BLANK}`];
    case "steps":
      return [
        "      kind: steps",
        `      column: ${BLANK}          # the column of applied voltages`,
        "      direction: up",
      ];
    default:
      return ["      kind: steady", `      voltage: ${BLANK}        # as measured at the pin`];
  }
}

function quoted(text: string): string {
  return /^[A-Za-z][A-Za-z0-9_./-]*$/.test(text) && !/^(?:true|false|null|yes|no|on|off|y|n)$/i.test(text)
    ? text
    : JSON.stringify(text);
}
