import type { RoledColumn } from "./columnRoles.ts";
import type { ReadingPlan } from "./readingPlan.ts";

const DELIMITER_WORDS: Readonly<Record<string, string>> = {
  ",": "Comma-separated",
  ";": "Semicolon-separated",
  "\t": "Tab-separated",
  "|": "Separated by pipes",
  " ": "Separated by blanks",
};
const BASE_WORDS = { 2: "binary", 8: "octal", 10: "decimal", 16: "hexadecimal" } as const;
const UNIT_WORDS = {
  s: "s",
  ms: "ms",
  us: "µs",
  ns: "ns",
  ticks: "ticks",
  clock: "clock time",
  unknown: "an unknown unit",
} as const;

/** 4096 as `4 096`. */
export function grouped(n: number): string {
  return String(n).replace(/\B(?=(\d{3})+$)/g, " ");
}

/**
 * The dialect in one line that a person can check against the log: `Comma-separated, header in line 1, codes from column 2 "adc0" in decimal, time from
 * column 1 "t_us" in µs; 4 096 readings in 4 097 lines`.
 */
export function dialectSentence(
  plan: ReadingPlan,
  found: {
    readonly base: 2 | 8 | 10 | 16;
    readonly readings: number;
    readonly channels: readonly { readonly name: string; readonly readings: number }[];
    readonly lines: number;
    readonly encoding: string;
    readonly compressed: boolean;
    readonly interleaved: boolean;
    readonly separate: boolean;
  },
): string {
  const parts: string[] = [];
  if (plan.kind === "columns")
    parts.push(
      plan.delimiter === null
        ? "One value a line"
        : (DELIMITER_WORDS[plan.delimiter] ?? `Separated by "${plan.delimiter}"`),
    );
  else if (plan.kind === "terminal") parts.push("Terminal text");
  else if (plan.kind === "json-lines") parts.push("JSON records");
  else parts.push("Memory dump");
  if (plan.decimal === ",") parts.push("decimal comma");
  if (plan.kind === "columns") parts.push(plan.headerLine > 0 ? `header in line ${plan.headerLine}` : "no header");
  if (found.encoding !== "utf-8") parts.push(found.encoding.toUpperCase());
  if (found.compressed) parts.push("gzip");

  const codes = plan.columns.filter((c) => c.role === "code");
  const volts = plan.columns.filter((c) => c.role === "volts");
  if (codes.length === 0 && volts.length > 0) parts.push(`no codes: volts from ${where(plan, volts[0]!)}`);
  else {
    const group = codes.find((c) => c.facts.format.group !== null)?.facts.format.group;
    const places = codes.map((c) => where(plan, c));
    const shown = places.length > 4 ? [...places.slice(0, 3), `${places.length - 3} more`] : places;
    parts.push(
      `codes${plan.perLine ? ", several a line," : ""} ${plan.bytePairs ? `as two bytes (${plan.bytePairs}) ` : ""}from ${list(shown)} in ${BASE_WORDS[found.base]}${group ? ` with "${group}" between thousands` : ""}`,
    );
  }
  const tag = plan.layout === "tagged" ? plan.columns.find((c) => c.role === "tag") : undefined;
  if (tag) parts.push(`channel from ${where(plan, tag)}`);
  const time = plan.columns.find((c) => c.role === "time");
  if (time)
    parts.push(
      `time from ${where(plan, time)} ${time.timeUnit === "clock" ? "as clock time" : `in ${UNIT_WORDS[time.timeUnit ?? "unknown"]}`}`,
    );
  const sequence = plan.columns.find((c) => c.role === "sequence");
  if (sequence) parts.push(`sequence numbers from ${where(plan, sequence)}`);
  const unit = plan.kind === "json-lines" ? "record" : "line";
  const total = `${grouped(found.readings)} reading${found.readings === 1 ? "" : "s"}`;
  const each =
    found.channels.length < 2
      ? ""
      : found.separate
        ? ` of ${found.channels.length} channels${found.interleaved ? " in turn" : ""}`
        : ` of each of ${found.channels.length} channels`;
  return `${parts.join(", ")}; ${total}${each} in ${grouped(found.lines)} ${unit}${found.lines === 1 ? "" : "s"}`;
}

function where(plan: ReadingPlan, column: RoledColumn): string {
  if (plan.kind === "columns") {
    if (plan.delimiter === null) return column.named ? `column "${column.name}"` : "the whole line";
    if (plan.perLine && column.role === "code")
      return column.index === 0 ? "every column" : `column ${column.index + 1} and all after it`;
    return `column ${column.index + 1}${column.named ? ` "${column.name}"` : ""}`;
  }
  if (plan.kind === "memory-dump") return "the words";
  return column.named ? `"${column.name}"` : column.name === "clock" ? "the clock" : `the ${column.name}`;
}

function list(items: readonly string[]): string {
  return items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} and ${items[items.length - 1]}`;
}
