import * as z from "zod";
import { choice, column, flag, group, list, numberChoice, optional, quantity, text, whole } from "./field.ts";
import { converter, converterOverride, frontEnd } from "./schemaConverter.ts";
import { allow, limits } from "./schemaLimits.ts";
import { hertz } from "./schemaQuantities.ts";
import { stimulus } from "./schemaStimulus.ts";

/*
 * The bench file (DESIGN §2), defined once: readBench.ts reads by it, jsonSchema.ts hands it to editors. Defaults are filled in by resolveBench.ts, after a capture's
 * overrides have been laid over the bench-wide values.
 */

const conditions = () =>
  z
    .record(
      z.string(),
      z
        .union([z.string(), z.number(), z.boolean()], { error: () => "text, a number, or true or false" })
        .transform(String),
      { error: () => "a map of free keys, such as { board: A-07, temperature: 25 °C }" },
    )
    .register(z.globalRegistry, {
      description: "Free keys (board, firmware, temperature …), carried to results and trends.",
    });

const USES = ["tone", "histogram", "noise"] as const;
const useExpected = `a list of ${USES.join(", ")}`;

/** Keys of one capture, which may also stand at the top level: for the only capture, or as the default of all. */
const captureShape = {
  channel: optional(() => column("The channel: a column's header, a tag, or a column number counted from 1.")),
  time: optional(() => column("The column of time stamps.")),
  timeUnit: optional(() => choice("Unit of the time stamps.", ["s", "ms", "us", "ns", "clock", "ticks"])),
  tickRate: optional(() => hertz("Ticks per second, with timeUnit ticks.")),
  base: optional(() => numberChoice("Number base of the codes.", [2, 8, 10, 16])),
  delimiter: optional(() =>
    z
      .string({ error: () => 'a sign such as ";", or one of comma, semicolon, tab, space, pipe' })
      .min(1, { error: () => 'a sign such as ";", or one of comma, semicolon, tab, space, pipe' })
      .register(z.globalRegistry, {
        description: "What separates the columns: the sign itself, or comma, semicolon, tab, space, pipe.",
      }),
  ),
  decimal: optional(() => choice("Decimal sign of numbers that are not codes.", [".", ","])),
  header: optional(() => flag("Whether the first line names the columns.")),
  encoding: optional(() => choice("Character encoding.", ["utf-8", "utf-16le", "utf-16be", "latin1"])),
  sequence: optional(() => column("The column of sequence numbers.")),
  interleave: optional(() =>
    list("the channels' names, in the order in which their readings follow each other", text("A channel's name.")),
  ),
  bytes: optional(() =>
    choice("The log holds single bytes; in which order two make a word.", ["big-endian", "little-endian"]),
  ),
  fromVolts: optional(() => flag("The log holds volts; turn them back into codes by the converter's scale.")),
  sampleRate: optional(() => quantity("rate", { describe: "Readings per second of one channel.", above: 0 })),
  use: optional(() =>
    z.union([z.array(z.enum(USES)).min(1), z.enum(USES)], { error: () => useExpected }).register(z.globalRegistry, {
      description: "What the capture is for. Default: all that the record supports. An overdriven sine is [histogram].",
    }),
  ),
  readings: optional(() => whole("Readings to take, for plan and simulate.", 1, 2 ** 31 - 1)),
  scan: optional(() =>
    group("A scan sequence of the input multiplexer.", {
      order: list("the channels in the order in which they are converted", text("A channel's name.")),
      readingsPerVisit: optional(() => whole("Readings taken at each visit of a channel. Default 1.", 1, 2 ** 20)),
    }),
  ),
  stimulus: optional(() => stimulus),
};

const capture = () =>
  group("One capture.", {
    name: optional(() => text("The capture's name, its own in this file. Default: the file's name.")),
    file: optional(() => text("The log, relative to the bench file; - for standard input.")),
    ...captureShape,
    converter: optional(converterOverride),
    frontEnd: optional(frontEnd),
    conditions: optional(conditions),
  });

/** The whole bench file. */
export const benchFile = group("A codestair bench file.", {
  title: optional(() => text("What is on the bench.")),
  converter,
  frontEnd: optional(frontEnd),
  conditions: optional(conditions),
  ...captureShape,
  file: optional(() => text("The log of the only capture, where there is no list of captures.")),
  captures: optional(() => list("the captures of the session", capture())),
  limits: optional(limits),
  decision: optional(() =>
    choice("guarded: the whole interval must lie inside the limit. simple: the value alone. Default guarded.", [
      "guarded",
      "simple",
    ]),
  ),
  generator: optional(() =>
    group("What the generator can be set to.", {
      step: optional(() => hertz("Smallest step of its frequency.")),
    }),
  ),
  serial: optional(() =>
    group("The serial line that carries the log.", {
      baud: quantity("symbolRate", { describe: "Symbols per second.", above: 0 }),
      bytesPerLine: optional(() => whole("Bytes of one reading as sent, line end included.", 1, 1e6)),
      bitsPerByte: optional(() =>
        quantity("count", {
          describe: "Symbols of one byte with start and stop bits. Default 10.",
          atLeast: 1,
          atMost: 16,
        }),
      ),
    }),
  ),
  allow: optional(allow),
});

export type BenchFile = z.output<typeof benchFile>;
export type CaptureFile = z.output<ReturnType<typeof capture>>;
