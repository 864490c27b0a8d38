import type { ChannelInspection, Inspection } from "../lib/inspect/inspection.ts";
import { coursePicture } from "./coursePicture.ts";
import { visible } from "./html.ts";
import type { InspectedSource } from "./inspectionJson.ts";
import { wrapLines } from "./terminalTable.ts";

const HEIGHT = 8;
/** Periodic readings are drawn by their first cycles; all of them would be a solid band. */
const CYCLES = 3;

/** An inspection for the terminal: the dialect to check, what was left out, each channel with its picture, what to do next. */
export function inspectionText(
  inspection: Inspection,
  source: InspectedSource,
  options: { readonly columns: number; readonly benchPath: string | null },
): string {
  const columns = Math.max(60, Math.min(options.columns, 120));
  const { log } = inspection;
  const out: string[] = [];
  const say = (text: string, indent = ""): void => {
    const [first = "", ...rest] = wrapLines(clean(text), columns - indent.length);
    out.push(indent + first, ...rest.map((l) => indent + l));
  };
  say(log.dialect.sentence);
  if (log.dialect.forced.length > 0) say(`Stated, not worked out: ${log.dialect.forced.join(", ")}.`);
  out.push("");
  if (log.skipped.length > 0) {
    const total = log.skipped.reduce((n, s) => n + s.count, 0);
    out.push(`Without a reading: ${total} ${total === 1 ? "line" : "lines"}`);
    const width = String(total).length;
    for (const { reason, count, examples } of log.skipped) {
      out.push(`  ${String(count).padStart(width)}  ${reason}`);
      for (const e of examples) {
        const text = clean(e.text);
        const room = columns - width - 14 - String(e.line).length;
        out.push(
          `  ${" ".repeat(width)}    line ${e.line}: ${text.length > room ? `${text.slice(0, room - 1)}…` : text}`,
        );
      }
    }
    out.push("");
  }
  for (const channel of inspection.channels) channelLines(channel, inspection, columns, out, say);
  const { sampleRate, missing } = inspection;
  if (sampleRate !== null) {
    say(
      `Sample rate: ${digits(sampleRate.value)} Hz${sampleRate.uncertainty === null ? "" : ` ± ${Number(sampleRate.uncertainty.toPrecision(2))} Hz`}, by ${sampleRate.basis === "timestamps" ? "the time stamps (their clock's own error is not known here)" : "a comment in the log"}.`,
    );
  } else say("Sample rate: unknown; the log has no time stamps with a known unit.");
  if (missing !== null) {
    say(
      missing.gaps === 0
        ? "Sequence numbers: no gaps."
        : `Sequence numbers: ${missing.readings} readings missing in ${missing.gaps} ${missing.gaps === 1 ? "gap" : "gaps"}.`,
    );
  }
  for (const remark of log.remarks) say(`Note: ${remark}.`);
  say(`SHA-256 ${source.sha256}`);
  out.push("");
  // Commands are to be copied: they stay in one line each.
  if (options.benchPath === null) {
    out.push("To score it, fill in the blanks of the bench file that the first command writes:");
    out.push(`  codestair inspect ${shellWord(source.file)} --bench bench.yaml`, "  codestair score bench.yaml");
  } else {
    say(`Wrote ${options.benchPath}. Fill in every ___, then:`);
    out.push(`  codestair score ${shellWord(options.benchPath)}`);
  }
  return `${out.join("\n")}\n`;
}

function channelLines(
  channel: ChannelInspection,
  inspection: Inspection,
  columns: number,
  out: string[],
  say: (text: string, indent?: string) => void,
): void {
  const unit = channel.unit === "V" ? " V" : "";
  say(
    `${channel.name}: ${channel.readings} ${channel.readings === 1 ? "reading" : "readings"}, ${digits(channel.min)} to ${digits(channel.max)}${unit}, mean ${digits(channel.mean)}, sd ${digits(channel.sd)}${channel.distinct === null ? "" : `, ${channel.distinct} different`}`,
  );
  say(`looks like ${channel.course.text}`, "  ");
  const { bits } = channel;
  if (bits !== null) {
    say(
      `the codes need ${bits.needed} ${bits.needed === 1 ? "bit" : "bits"}${bits.signed ? ", signed" : ""}; usual: ${bits.bits}${bits.unusedLowBits > 0 ? `; the lowest ${bits.unusedLowBits} are never set (left-aligned?)` : ""}`,
      "  ",
    );
    const shown = bits.activity.slice(0, Math.max(bits.needed, 1));
    out.push(
      `  bit      ${shown
        .map((b) => String(b.bit).padStart(4))
        .reverse()
        .join("")}`.slice(0, columns),
    );
    out.push(
      `  set %    ${shown
        .map((b) => String(Math.round(100 * b.ones)).padStart(4))
        .reverse()
        .join("")}`.slice(0, columns),
    );
    out.push(
      `  change % ${shown
        .map((b) => String(Math.round(100 * b.changes)).padStart(4))
        .reverse()
        .join("")}`.slice(0, columns),
    );
  }
  const found = inspection.log.channels.find((c) => c.name === channel.name)!;
  const values: ArrayLike<number> = found.codes.length > 0 ? found.codes : (found.volts ?? found.codes);
  const perCycle = channel.course.cyclesPerReading;
  const last =
    perCycle !== null && perCycle * values.length > 4 * CYCLES
      ? Math.min(values.length, Math.max(24, Math.round(CYCLES / perCycle))) - 1
      : values.length - 1;
  const label = Math.max(digits(channel.max).length, digits(channel.min).length);
  const picture = coursePicture(values, 0, last, columns - label - 4, HEIGHT);
  picture.forEach((row, i) => {
    const tick = i === 0 ? digits(topOf(values, last, 1)) : i === HEIGHT - 1 ? digits(topOf(values, last, -1)) : "";
    out.push(`  ${tick.padStart(label)} ${row}`.trimEnd());
  });
  if (last < values.length - 1) say(`(the first ${last + 1} readings)`, " ".repeat(label + 3));
  out.push("");
}

function topOf(values: ArrayLike<number>, last: number, sign: 1 | -1): number {
  let best = values[0]!;
  for (let i = 1; i <= last; i++) if (sign * values[i]! > sign * best) best = values[i]!;
  return best;
}

/** A file name as it can be pasted into a shell. */
function shellWord(name: string): string {
  const shown = clean(name);
  return /^[\w./+-]+$/.test(shown) ? shown : `'${shown.replaceAll("'", "'\\''")}'`;
}

function digits(value: number): string {
  return Number.isInteger(value) ? String(value) : String(Number(value.toPrecision(7)));
}

function clean(text: string): string {
  return visible(text.replace(/[\t\r\n]+/g, " "));
}
