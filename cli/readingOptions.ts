import { type Command, InvalidArgumentError, Option } from "commander";
import type { ReadingHints } from "../lib/bench/bench.ts";

const DELIMITERS: Readonly<Record<string, string>> = {
  comma: ",",
  semicolon: ";",
  tab: "\t",
  "\\t": "\t",
  space: " ",
  pipe: "|",
};

/** Adds the options that force what the reader would otherwise work out: the same keys as in a bench file. */
export function addReadingOptions(command: Command): Command {
  return command
    .option("--channel <name|number>", "column of the codes: its header, tag or number counted from 1")
    .option("--time <name|number>", "column of the time stamps")
    .addOption(
      new Option("--time-unit <unit>", "unit of the time stamps").choices(["s", "ms", "us", "ns", "clock", "ticks"]),
    )
    .option("--tick-rate <hertz>", "ticks per second, with --time-unit ticks", positive)
    .addOption(new Option("--base <n>", "number base of the codes").choices(["2", "8", "10", "16"]))
    .option("--delimiter <sign>", "what parts the columns: a sign, or comma, semicolon, tab, space, pipe", oneSign)
    .addOption(new Option("--decimal <sign>", "decimal sign of real numbers").choices([".", ","]))
    .option("--header", "the first line names the columns")
    .option("--no-header", "no line names the columns")
    .addOption(
      new Option("--encoding <name>", "character encoding").choices(["utf-8", "utf-16le", "utf-16be", "latin1"]),
    )
    .option("--sequence <name|number>", "column of the sequence numbers")
    .option("--interleave <names>", "channels of a scan sequence in their order, parted by commas", names)
    .addOption(
      new Option("--bytes <order>", "two bytes make a reading, in this order").choices(["big-endian", "little-endian"]),
    );
}

export interface ReadingOptions {
  readonly channel?: string;
  readonly time?: string;
  readonly timeUnit?: NonNullable<ReadingHints["timeUnit"]>;
  readonly tickRate?: number;
  readonly base?: string;
  readonly delimiter?: string;
  readonly decimal?: "." | ",";
  readonly header?: boolean;
  readonly encoding?: NonNullable<ReadingHints["encoding"]>;
  readonly sequence?: string;
  readonly interleave?: readonly string[];
  readonly bytes?: NonNullable<ReadingHints["bytes"]>;
}

/** The options as the reader takes them; what was not stated is absent. */
export function readingHints(options: ReadingOptions): ReadingHints {
  const { channel, time, timeUnit, tickRate, base, delimiter, decimal, header, encoding, sequence, interleave, bytes } =
    options;
  const hints = {
    channel,
    time,
    timeUnit,
    tickRate,
    base: base === undefined ? undefined : (Number(base) as 2 | 8 | 10 | 16),
    delimiter,
    decimal,
    header,
    encoding,
    sequence,
    interleave,
    bytes,
  };
  return Object.fromEntries(Object.entries(hints).filter(([, value]) => value !== undefined));
}

function positive(text: string): number {
  const value = Number(text);
  if (!(value > 0 && value < Number.POSITIVE_INFINITY)) throw new InvalidArgumentError("a number above 0, in hertz");
  return value;
}

function oneSign(text: string): string {
  const sign = DELIMITERS[text] ?? text;
  if (sign.length !== 1) throw new InvalidArgumentError("one sign, or comma, semicolon, tab, space, pipe");
  return sign;
}

function names(text: string): string[] {
  const list = text.split(",").map((n) => n.trim());
  if (list.length < 2 || list.some((n) => n === ""))
    throw new InvalidArgumentError("two or more names, parted by commas");
  return list;
}
