import type { ReadingHints } from "../bench/bench.ts";
import { ProblemError } from "../bench/problem.ts";
import { isHexadecimal } from "./columnFormat.ts";
import { readName } from "./columnName.ts";
import { matches, type RoledColumn } from "./columnRoles.ts";
import { dialectSentence } from "./dialectSentence.ts";
import { everySecond, joinBytes } from "./joinBytes.ts";
import type { Log, LogChannel, SequenceNumbers, TimeStamps } from "./log.ts";
import { partInterleaved } from "./partInterleaved.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import type { RestartWatch } from "./restartWatch.ts";
import { type Lane, NOT_WHOLE, type RowCollector } from "./rowCollector.ts";
import { sequenceNumbers } from "./sequenceNumbers.ts";
import type { SkipTally } from "./skipTally.ts";
import { statedChannel } from "./statedChannel.ts";
import { timeStamps } from "./timeStamps.ts";

/** Puts together what the whole log says: bases settled, interleaved channels parted, counters unrolled, the dialect in words. */
export function finishLog(read: {
  readonly plan: ReadingPlan;
  readonly collector: RowCollector;
  readonly hints: ReadingHints & { compressed?: boolean };
  readonly encoding: string;
  readonly lines: number;
  readonly bytes: number;
  readonly skips: SkipTally;
  readonly remarks: string[];
  readonly statedRate: number | null;
  readonly restarts: RestartWatch;
}): Log {
  const { plan, collector, hints, remarks } = read;
  remarks.push(...plan.remarks);
  const codeColumn = plan.columns.find((c) => c.role === "code");
  let base = codeColumn?.facts.format.base ?? 10;
  if (collector.letteredLines.length > 0 && settleHexadecimal(collector, read.skips)) base = 16;
  const lanes = [...collector.lanes.values()].filter((l) => l.codes.length + (l.volts?.length ?? 0) > 0);
  if (lanes.length === 0) {
    throw new ProblemError([
      {
        code: "unreadable-log",
        file: null,
        line: null,
        key: null,
        found: "no line gave a reading",
        expected: "numbers that come line by line",
        next: "State how it is written: --channel, --base, --delimiter",
      },
    ]);
  }
  refuseLoneNumber(read, lanes);

  let rollovers = 0;
  const timing = (lane: Lane): { time: TimeStamps | null; sequence: SequenceNumbers | null } => {
    let time: TimeStamps | null = null;
    let sequence: SequenceNumbers | null = null;
    if (lane.time !== null && collector.time !== null) {
      const column = collector.time;
      const unit = column.timeUnit as "s";
      const digit = unit === ("clock" as string) ? collector.clockResolution : lastDigit(column);
      const made = timeStamps(lane.time.done(), unit, column.name, digit, hints.tickRate);
      time = made.stamps;
      rollovers += time?.rollovers ?? 0;
      if (made.setBack > 0)
        remarks.push(`time stamps jump back ${times(made.setBack)}: the board restarted, or two logs were joined`);
      if (time === null && unit === ("ticks" as string)) {
        remarks.push(`time stamps "${column.name}" are in ticks of an unstated rate; state tickRate to use them`);
      }
    }
    if (lane.sequence !== null && collector.sequence !== null) {
      const made = sequenceNumbers(lane.sequence.done(), collector.sequence.name);
      sequence = made.sequence;
      if (made.restarts > 0) remarks.push(`sequence numbers start again ${times(made.restarts)}`);
      if (made.repeated > 0) remarks.push(`sequence numbers repeat ${times(made.repeated)}`);
    }
    return { time, sequence };
  };

  const shared = plan.layout === "rows" ? timing(lanes[0]!) : null;
  let channels: LogChannel[] = lanes.map((lane) => {
    const own = shared ?? timing(lane);
    return {
      name: lane.name,
      ...(plan.kind === "columns" ? { column: columnOf(plan, lane.name) } : {}),
      codes: lane.codes.done(),
      ...(lane.volts ? { volts: lane.volts.done() } : {}),
      ...(shared ? {} : { time: own.time, sequence: own.sequence }),
    };
  });
  if (hints.bytes !== undefined && plan.bytePairs === null) {
    if (channels.length === 1 && channels[0]!.codes.length > 1 && channels[0]!.codes.every((v) => v >= 0 && v <= 255)) {
      channels = [joinBytes(channels[0]!, hints.bytes)];
      if (shared?.time) shared.time = everySecond(shared.time);
    } else remarks.push("bytes was stated, but the log holds words larger than a byte: they were taken as printed");
  }
  const interleaved = hints.interleave !== undefined && hints.interleave.length > 0;
  if (interleaved) {
    if (channels.length === 1)
      channels = partInterleaved(channels[0]!, hints.interleave!, shared?.time ?? channels[0]!.time ?? null);
    else
      remarks.push(`interleave was stated, but the log already holds ${channels.length} channels: it was left aside`);
  }
  channels = statedChannel(channels, plan, hints);
  const unknownTime = plan.columns.find((c) => c.role === "time" && c.timeUnit === "unknown");
  if (unknownTime) {
    remarks.push(
      `"${unknownTime.name}" looks like time stamps, but nothing says in which unit: state timeUnit (s, ms, us, ns, ticks) to use it`,
    );
  }
  if (plan.columns.every((c) => c.role !== "code")) {
    remarks.push(
      "the log holds volts, not codes: they are converted only when the bench file asks for it (fromVolts: true)",
    );
  }
  if (rollovers > 0) remarks.push(`the time counter rolled over ${times(rollovers)}; the stamps were unrolled`);
  const restarted = read.restarts.remark();
  if (restarted !== null) remarks.push(restarted);
  if (codeColumn !== undefined && base === 10 && hints.base === undefined && couldBeHexadecimal(codeColumn)) {
    remarks.push(
      "the codes are zero-padded digits without a letter and were read as decimal: state base 16 if they are hexadecimal",
    );
  }
  remarks.push(...contradictions(plan, hints));

  const lengths = channels.map((c) => c.codes.length + (c.volts?.length ?? 0));
  const separate = channels.length > 1 && (interleaved || plan.layout !== "rows");
  const readings = separate ? lengths.reduce((a, b) => a + b, 0) : Math.max(...lengths);
  const sentence = dialectSentence(plan, {
    base,
    readings,
    channels: channels.map((c) => ({ name: c.name, readings: c.codes.length + (c.volts?.length ?? 0) })),
    lines: read.lines,
    encoding: read.encoding,
    compressed: hints.compressed === true,
    interleaved,
    separate,
  });
  return {
    dialect: {
      kind: plan.kind,
      encoding: read.encoding,
      compressed: hints.compressed === true,
      delimiter: plan.delimiter,
      decimal: plan.decimal,
      header: plan.header,
      base,
      sentence,
      forced: forcedKeys(hints),
    },
    channels,
    time: shared?.time ?? (channels.length === 1 ? (channels[0]!.time ?? null) : null),
    sequence: shared?.sequence ?? (channels.length === 1 ? (channels[0]!.sequence ?? null) : null),
    columns: new Map([...(lanes[0]?.columns ?? [])].map(([name, list]) => [name, list.done()])),
    lines: read.lines,
    bytes: read.bytes,
    skipped: read.skips.done(),
    remarks,
    ...(plan.columns.every((c) => c.role !== "code") ? { voltScale: voltScale(plan) } : {}),
    ...(channels.length > 1 && (interleaved || plan.layout !== "rows") ? { separateChannels: true } : {}),
    ...(read.statedRate === null ? {} : { statedRate: read.statedRate }),
  };
}

function voltScale(plan: ReadingPlan): number {
  const column = plan.columns.find((c) => c.role === "volts");
  const unit = column?.unit ?? (column?.named ? readName(column.name).unit : null);
  return unit === "mV" ? 1e-3 : unit === "uV" ? 1e-6 : 1;
}

/** Zeros in front of every code and one width: decimal numbers are seldom printed so. A step such as 809 → 810 settles it for decimal. */
function couldBeHexadecimal({ facts }: RoledColumn): boolean {
  if (!facts.ambiguous || facts.fewestDigits !== facts.mostDigits || facts.mostDigits < 3) return false;
  const values = facts.numbers.filter((v) => !Number.isNaN(v));
  if (values.length < 4 || values.some((v) => v >= 10 ** (facts.mostDigits - 1))) return false;
  return isHexadecimal(values.map(String), 0);
}

function columnOf(plan: ReadingPlan, name: string): number | undefined {
  const column = plan.columns.find((c) => c.name === name) ?? plan.columns.find((c) => c.role === "code");
  return column === undefined ? undefined : column.index + 1;
}

/** Digits were read as decimal while the base was open; letters came later. Either all are hexadecimal, or the lettered ones are no readings. */
function settleHexadecimal(collector: RowCollector, skips: SkipTally): boolean {
  const lanes = [...collector.lanes.values()];
  const main = lanes.reduce((a, b) => (b.lettered.length > a.lettered.length ? b : a));
  const letters = new Set(main.lettered);
  const count = Math.min(main.codes.length, 200_000);
  const digits = Array.from({ length: count }, (_, i) => (letters.has(i) ? "x" : String(main.codes.words[i])));
  const hex = isHexadecimal(digits, letters.size);
  if (!hex) {
    const rows = [...new Set(lanes.flatMap((l) => l.lettered))].sort((a, b) => a - b);
    collector.drop(rows);
    rows.forEach((_, i) => {
      const example = collector.letteredLines[i];
      skips.add(NOT_WHOLE, example?.line ?? 0, example?.text ?? "");
    });
    return false;
  }
  for (const lane of lanes) {
    if (!lane.ambiguous) continue;
    const own = new Set(lane.lettered);
    const { words } = lane.codes;
    for (let i = 0; i < lane.codes.length; i++) if (!own.has(i)) words[i] = Number.parseInt(String(words[i]), 16);
  }
  return true;
}

function lastDigit(column: RoledColumn): number {
  // Stamps of real numbers: the smallest step seen among the first ones stands for their last digit.
  if (column.facts.format.kind === "whole") return 1;
  const xs = column.facts.numbers.filter((v) => !Number.isNaN(v)).slice(0, 4096);
  let digit = 1;
  while (digit > 1e-9 && !xs.every((x) => Math.abs(x / digit - Math.round(x / digit)) < 1e-6)) digit /= 10;
  return digit;
}

function contradictions(plan: ReadingPlan, hints: ReadingHints): string[] {
  const out: string[] = [];
  if (hints.header === true && plan.headerLine === 0) out.push("a header was stated, but no line can be one");
  if (hints.time !== undefined && !plan.columns.some((c) => matches(c, hints.time))) {
    out.push(
      `time column "${hints.time}" is not in the log; it holds ${plan.columns.map((c) => `"${c.name}"`).join(", ")}`,
    );
  }
  if (hints.sequence !== undefined && !plan.columns.some((c) => matches(c, hints.sequence))) {
    out.push(
      `sequence column "${hints.sequence}" is not in the log; it holds ${plan.columns.map((c) => `"${c.name}"`).join(", ")}`,
    );
  }
  return out;
}

function forcedKeys(hints: ReadingHints): string[] {
  const keys = [
    "channel",
    "time",
    "timeUnit",
    "base",
    "delimiter",
    "decimal",
    "header",
    "encoding",
    "sequence",
    "interleave",
    "bytes",
    "fromVolts",
  ] as const;
  return keys.filter((k) => hints[k] !== undefined);
}

function times(n: number): string {
  return n === 1 ? "once" : n === 2 ? "twice" : `${n} times`;
}

/** Readings, and lines of text to each, up to which a terminal dump is text with a number in it. */
const LONE = { readings: 2, textLines: 2 };

/** Text in which a number happens to stand is no log of readings. */
function refuseLoneNumber(
  read: { readonly plan: ReadingPlan; readonly skips: SkipTally },
  lanes: readonly Lane[],
): void {
  const readings = lanes.reduce((sum, lane) => sum + lane.codes.length, 0);
  const text = read.skips.done().find((s) => s.reason === "text without a reading")?.count ?? 0;
  if (read.plan.kind !== "terminal" || readings > LONE.readings || text < LONE.textLines * readings) return;
  throw new ProblemError([
    {
      code: "unreadable-log",
      file: null,
      line: null,
      key: null,
      found: `${readings === 1 ? "one number" : `${readings} numbers`} in ${text} lines of text`,
      expected: "numbers that come line by line",
      next: "State how readings are written: --channel, --base, --delimiter",
    },
  ]);
}
