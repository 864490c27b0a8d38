import { type Random, seededRandom } from "../signal/random.ts";
import type { SimulatedCapture } from "./simulateCapture.ts";

/** Said at the head of every simulated log, so that nobody takes it for a measurement. */
export const SIMULATED_MARK = "simulated by codestair; no hardware was measured";

/** One log's columns: the words of each channel, and what stands beside them. */
export interface LogContent {
  readonly channels: readonly { readonly name: string; readonly words: Int32Array }[];
  readonly seconds: Float64Array;
  readonly sequence: Int32Array;
  readonly applied: { readonly name: string; readonly volts: Float64Array } | null;
  /** Bits of a logged word, for hexadecimal and binary widths. */
  readonly wordBits: number;
  /** Lines of another task to mix in, as a share of the readings' lines. */
  readonly foreignShare: number;
  readonly seed: number;
}

interface DialectEntry {
  readonly sentence: string;
  /** Keys that a bench file needs with this dialect, as YAML; empty where the reader finds out by itself. */
  readonly benchKeys: string;
  readonly extension: "csv" | "log" | "jsonl" | "txt" | "tsv";
  readonly write: (content: LogContent) => string[];
}

/** The dialects that the simulator writes, each a way that real firmware and terminals print readings. */
export const DIALECTS = {
  csv: dialect("comma-separated with a header", "", "csv", (c) => columns(c, { delimiter: "," })),
  "csv-time": dialect("comma-separated with time stamps in microseconds", "time: t_us", "csv", (c) =>
    columns(c, { delimiter: ",", time: "t_us" }),
  ),
  "csv-semicolon": dialect("semicolons, decimal comma, time stamps in milliseconds", "time: t_ms", "csv", (c) =>
    columns(c, { delimiter: ";", time: "t_ms", decimalComma: true }),
  ),
  "tsv-sequence": dialect("tabs, with a running number", "sequence: seq", "tsv", (c) =>
    columns(c, { delimiter: "\t", sequence: "seq" }),
  ),
  bare: dialect("one code a line", "", "txt", (c) => [`# ${SIMULATED_MARK}`, ...rows(c, (words) => words.join(" "))]),
  terminal: dialect("serial terminal with boot lines and `ADC0 = ` before each code", "", "log", (c) => [
    ...boot(c),
    ...rows(c, (words) => words.map((w, i) => `${c.channels[i]!.name.toUpperCase()} = ${w}`).join("  ")),
  ]),
  "terminal-time": dialect("serial terminal with a time of day before each code", "", "log", (c) => [
    ...boot(c),
    ...rows(c, (words, n) => `[${clock(c.seconds[n]!)}] ${words.join(" ")}`),
  ]),
  "terminal-several": dialect("serial terminal, eight codes a line", "", "log", (c) => [...boot(c), ...several(c)]),
  hex: dialect("hexadecimal with 0x", "", "txt", (c) => [
    `# ${SIMULATED_MARK}`,
    ...rows(c, (words) => words.map((w) => `0x${hexadecimal(w, c.wordBits)}`).join(",")),
  ]),
  "hex-bare": dialect("hexadecimal without 0x", "base: 16", "txt", (c) => [
    `# ${SIMULATED_MARK}`,
    ...rows(c, (words) => words.map((w) => hexadecimal(w, c.wordBits)).join(",")),
  ]),
  binary: dialect("binary with 0b", "", "txt", (c) => [
    `# ${SIMULATED_MARK}`,
    ...rows(c, (words) =>
      words.map((w) => `0b${unsigned(w, c.wordBits).toString(2).padStart(c.wordBits, "0")}`).join(","),
    ),
  ]),
  "json-lines": dialect("one JSON object a line", "", "jsonl", (c) => [
    JSON.stringify({ note: SIMULATED_MARK }),
    ...rows(c, (words, n) =>
      JSON.stringify({
        t: +c.seconds[n]!.toFixed(9),
        ...Object.fromEntries(words.map((w, i) => [c.channels[i]!.name, w])),
        ...(c.applied ? { [c.applied.name]: +c.applied.volts[n]!.toFixed(6) } : {}),
      }),
    ),
  ]),
} as const satisfies Record<string, DialectEntry>;

export type DialectName = keyof typeof DIALECTS;

function dialect(
  sentence: string,
  benchKeys: string,
  extension: DialectEntry["extension"],
  write: DialectEntry["write"],
): DialectEntry {
  return { sentence, benchKeys, extension, write };
}

/** Puts one or several captures of the same log into one content. */
export function logContent(captures: readonly SimulatedCapture[], seed: number): LogContent {
  const first = captures[0]!;
  const { converter } = first.spec;
  const foreign = first.truth.planted.find((p) => p.fault.name === "skipped-lines");
  const channels = captures.map((c, i) => ({ name: channelName(c, i), words: c.words }));
  const neighbour = captures.find((c) => c.neighbourWords !== null)?.neighbourWords;
  if (neighbour) {
    let i = 0;
    while (channels.some((c) => c.name === `adc${i}`)) i++;
    channels.push({ name: `adc${i}`, words: neighbour });
  }
  const steps = captures.find((c) => c.applied !== null);
  const column = steps?.truth.stimulus.kind === "steps" ? steps.truth.stimulus.column : null;
  return {
    channels,
    seconds: first.seconds,
    sequence: first.sequence,
    applied: steps?.applied ? { name: typeof column === "string" ? column : "vin", volts: steps.applied } : null,
    wordBits: converter.align === "left" || first.truth.planted.length > 0 ? converter.container : converter.bits,
    foreignShare: (foreign?.fault.size ?? 0) / 100,
    seed,
  };
}

function channelName(capture: SimulatedCapture, index: number): string {
  const { channel } = capture.spec.reading;
  return typeof channel === "string" ? channel : `adc${typeof channel === "number" ? channel - 1 : index}`;
}

/** The log as text, one line end after each line. */
export function writeLog(content: LogContent, name: DialectName): string {
  return `${DIALECTS[name].write(content).join("\n")}\n`;
}

function columns(
  c: LogContent,
  shape: { delimiter: string; time?: "t_us" | "t_ms"; sequence?: string; decimalComma?: boolean },
): string[] {
  const { delimiter, time, sequence, decimalComma = false } = shape;
  const decimal = (text: string): string => (decimalComma ? text.replace(".", ",") : text);
  const header = [
    ...(sequence ? [sequence] : []),
    ...(time ? [time] : []),
    ...c.channels.map((channel) => channel.name),
    ...(c.applied ? [c.applied.name] : []),
  ].join(delimiter);
  const factor = time === "t_ms" ? 1e3 : 1e6;
  const digits = stampDigits(c, factor);
  const body = rows(c, (words, n) =>
    [
      ...(sequence ? [c.sequence[n]!] : []),
      ...(time ? [decimal((c.seconds[n]! * factor).toFixed(digits))] : []),
      ...words,
      ...(c.applied ? [decimal(c.applied.volts[n]!.toFixed(6))] : []),
    ].join(delimiter),
  );
  return [`# ${SIMULATED_MARK}`, header, ...body];
}

/** Digits after the point with which a stamp shows a hundredth of a reading's period. */
function stampDigits(c: LogContent, factor: number): number {
  const period = (c.seconds.at(-1)! - c.seconds[0]!) / Math.max(1, c.seconds.length - 1);
  return Math.max(0, Math.min(9, Math.ceil(-Math.log10(0.01 * period * factor))));
}

function boot(c: LogContent): string[] {
  return [
    "",
    `river-gauge logger, ${SIMULATED_MARK}`,
    "self test ok",
    `channels: ${c.channels.map((x) => x.name).join(" ")}`,
    "> start",
  ];
}

/** A line for each reading, with the lines of another task mixed in where wanted. */
function rows(c: LogContent, line: (words: number[], n: number) => string): string[] {
  const random = seededRandom(c.seed);
  const out: string[] = [];
  for (let n = 0; n < c.seconds.length; n++) {
    foreignLine(c, random, out);
    out.push(
      line(
        c.channels.map((channel) => channel.words[n]!),
        n,
      ),
    );
  }
  return out;
}

function several(c: LogContent): string[] {
  const random = seededRandom(c.seed);
  const out: string[] = [];
  const words = c.channels[0]!.words;
  for (let n = 0; n < words.length; n += 8) {
    foreignLine(c, random, out);
    out.push(words.subarray(n, n + 8).join(" "));
  }
  return out;
}

function foreignLine(c: LogContent, random: Random, out: string[]): void {
  if (c.foreignShare > 0 && random.uniform() < c.foreignShare) out.push("radio: link lost, joining again");
}

const unsigned = (word: number, bits: number): number => (word < 0 ? word + 2 ** Math.max(bits, 8) : word);
const hexadecimal = (word: number, bits: number): string =>
  unsigned(word, bits)
    .toString(16)
    .toUpperCase()
    .padStart(Math.ceil(bits / 4), "0");

/** A time of day that starts at noon, with microseconds. */
function clock(seconds: number): string {
  const total = 12 * 3600 + seconds;
  const two = (x: number): string => String(Math.floor(x)).padStart(2, "0");
  return `${two((total / 3600) % 24)}:${two((total / 60) % 60)}:${(total % 60).toFixed(6).padStart(9, "0")}`;
}
