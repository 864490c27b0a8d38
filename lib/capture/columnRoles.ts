import type { ReadingHints } from "../bench/bench.ts";
import { courseOf } from "./columnCourse.ts";
import type { ColumnFacts } from "./columnFormat.ts";
import { type NamedRole, type NamedUnit, readName } from "./columnName.ts";

export type Role = "code" | "time" | "sequence" | "tag" | "volts" | "stimulus" | "ignore";

export interface Column {
  /** 0-based place in the line; in key-value logs, the order in which keys were first seen. */
  readonly index: number;
  readonly name: string;
  /** The name comes from the log, not from the column's number. */
  readonly named: boolean;
  readonly facts: ColumnFacts;
  /** A unit printed behind the values: `t=123ms`. */
  readonly unit: NamedUnit;
  /** Text columns: the few short words that come again and again, when they may name channels. */
  readonly tagTexts?: readonly string[];
}

export interface RoledColumn extends Column {
  readonly role: Role;
  readonly timeUnit: TimeUnit | null;
}

/** "unknown": stamps that no name, suffix or option gives a unit. */
export type TimeUnit = "s" | "ms" | "us" | "ns" | "clock" | "ticks" | "unknown";

/**
 * Gives every column its role: codes, time, sequence, channel tag, volts. A forced role wins; then what the name says, held against what the numbers do;
 * then the numbers alone.
 * @throws nothing; columns that were forced but do not exist are the caller's problem
 */
export function columnRoles(columns: readonly Column[], hints: ReadingHints): RoledColumn[] {
  const forced = (column: Column): Role | null => {
    // A number may be meant as a tag: what is stated to be something else is no channel.
    if (matches(column, hints.time)) return "time";
    if (matches(column, hints.sequence)) return "sequence";
    if (matches(column, hints.stimulusColumn)) return "stimulus";
    if (matches(column, hints.channel)) return "code";
    return null;
  };
  const single = columns.filter((c) => c.facts.format.kind !== "text").length === 1;
  const draft = columns.map((column) => {
    const byForce = forced(column);
    const said = readName(column.named ? column.name : "");
    const role =
      byForce ??
      (single && column.facts.format.kind !== "text"
        ? loneRole(column)
        : roleByNameAndCourse(column, said.role, columns));
    return { column, role, said };
  });
  // Only one column may be the time, and one the sequence: the first named one, else the first.
  keepBest(draft, "time", hints.time !== undefined);
  keepBest(draft, "sequence", hints.sequence !== undefined);
  if (!draft.some((d) => d.role === "code")) promote(draft);
  // Code columns that only their being whole numbers speaks for stand back behind columns that are named as codes.
  if (draft.some((d) => d.role === "code" && d.said.role === "code")) {
    for (const d of draft)
      if (d.role === "code" && d.said.role === "other" && forced(d.column) === null) d.role = "ignore";
  }
  // A channel may also be a tag's or a scan sequence's: then no column is it, and it is picked after reading.
  if (draft.some((d) => d.role === "code" && matches(d.column, hints.channel))) {
    // Neighbours that are named as channels are read beside it, without being asked for more than their numbers: crosstalk shows on them.
    const isBeside = ({ column, said }: (typeof draft)[number]): boolean =>
      said.role === "code" &&
      hints.stimulusColumn === undefined &&
      column.facts.format.kind === "whole" &&
      column.facts.format.base === 10;
    for (const d of draft)
      if (d.role === "code" && !matches(d.column, hints.channel)) d.role = isBeside(d) ? "stimulus" : "ignore";
  }
  return draft.map(({ column, role, said }) => ({
    ...column,
    role,
    timeUnit: role === "time" ? timeUnit(column, said.unit, hints) : null,
  }));
}

/** Does an option's column, a name or a 1-based number, mean this column? Case does not matter; an exact name goes before a number. */
export function matches(column: { index: number; name: string }, wanted: string | number | undefined): boolean {
  if (wanted === undefined) return false;
  if (typeof wanted === "number") return column.index + 1 === wanted;
  const name = column.name.trim().toLowerCase();
  const want = wanted.trim().toLowerCase();
  return name === want || (/^\d+$/.test(want) && column.index + 1 === Number(want));
}

function loneRole(column: Column): Role {
  const kind = column.facts.format.kind;
  if (kind === "whole") return "code";
  return kind === "real" ? "volts" : "ignore";
}

function roleByNameAndCourse(column: Column, said: NamedRole | null, all: readonly Column[]): Role {
  const { facts } = column;
  const kind = facts.format.kind;
  const course = courseOf(facts.numbers);
  if (kind === "clock") return "time";
  if (kind === "text") return said === "tag" || said === null || said === "code" ? textTag(column) : "ignore";
  if (column.unit === "s" || column.unit === "ms" || column.unit === "us" || column.unit === "ns") return "time";
  if (column.unit === "V" || column.unit === "mV" || column.unit === "uV") return "volts";
  if (said === "volts" && (kind === "real" || hasRivalCode(column, all))) return "volts";
  if (said === "time" && (course.rising >= 0.9 || course.even >= 0.9 || facts.filled < 3)) return "time";
  if (kind === "real") {
    if (said === "other" || said === "sequence") return "ignore";
    if (said === null && course.rising >= 0.99 && course.even >= 0.5 && !isFirstNumeric(column, all)) return "volts";
    return said !== "volts" && course.rising >= 0.99 && isFirstNumeric(column, all) && facts.filled > 2
      ? "time"
      : "volts";
  }
  if (said === "tag" && course.distinct <= 64 && hasRivalCode(column, all)) return "tag";
  if (said === "sequence" && (course.byOne >= 0.5 || course.rising >= 0.99 || course.even >= 0.9)) return "sequence";
  if (said === "code") return "code";
  if (said === "other") return "ignore";
  if (said === "time") return course.rising >= 0.7 ? "time" : "code";
  // Nothing said: what the numbers do. Nobody prints time in hexadecimal or binary.
  if (facts.format.base !== 10 && !course.cycles) return "code";
  if (facts.filled < 3 || !isFirstNumeric(column, all)) {
    if (facts.filled >= 8 && course.cycles && hasRivalCode(column, all)) return "tag";
    if (facts.filled >= 8 && !course.steady && course.byOne >= 0.95 && hasRivalCode(column, all)) return "sequence";
    if (facts.filled >= 8 && !course.steady && course.even >= 0.95 && !noCodeBut(column, all)) return "time";
    return "code";
  }
  if (course.steady) return "code";
  if (course.byOne >= 0.8) return "sequence";
  if (course.cycles) return "tag";
  if (course.rising >= 0.97 || course.even >= 0.9) return runsWithVolts(column, all) ? "code" : "time";
  return "code";
}

/** Is there another column of whole numbers that could be the codes? */
function hasRivalCode(column: Column, all: readonly Column[]): boolean {
  return all.some((c) => {
    if (c === column || c.facts.format.kind !== "whole") return false;
    const role = readName(c.named ? c.name : "").role;
    return role !== "time" && role !== "volts" && role !== "other" && role !== "sequence";
  });
}

/** Every other column of whole numbers runs as evenly as this one: a ramp's codes must not be taken for time. */
function noCodeBut(column: Column, all: readonly Column[]): boolean {
  return !all.some((c) => {
    if (c === column || c.facts.format.kind !== "whole") return false;
    const course = courseOf(c.facts.numbers);
    return course.even < 0.9 && course.rising < 0.97;
  });
}

/** A ramp's codes rise like time; but a column of volts beside them that is always the same multiple tells them apart. */
function runsWithVolts(column: Column, all: readonly Column[]): boolean {
  return all.some((c) => {
    if (c.facts.format.kind !== "real") return false;
    const pairs = c.facts.numbers.flatMap((v, i) => {
      const code = column.facts.numbers[i]!;
      return code !== 0 && Math.abs(v) > 0.1 ? [v / code] : [];
    });
    if (pairs.length < 8) return false;
    const middle = pairs.slice().sort((a, b) => a - b)[pairs.length >> 1]!;
    // Two decimals of a volt leave some per cent at the lower end.
    return pairs.filter((r) => Math.abs(r / middle - 1) < 0.06).length > 0.9 * pairs.length;
  });
}

function isFirstNumeric(column: Column, all: readonly Column[]): boolean {
  for (const c of all) {
    if (c === column) return true;
    const kind = c.facts.format.kind;
    if (kind === "text" || kind === "clock") continue;
    // A sequence before the time is usual: `n, t, code`.
    const course = courseOf(c.facts.numbers);
    if (kind === "whole" && course.byOne >= 0.8) continue;
    // So is a level or a priority that stands still.
    if (course.steady && c.facts.filled > 2) continue;
    return false;
  }
  return true;
}

/** A text column that names the channel: few different short words, each coming again and again. */
function textTag(column: Column): Role {
  const texts = column.facts.filled;
  return column.facts.format.kind === "text" && texts > 0 && column.tagTexts !== undefined ? "tag" : "ignore";
}

type Draft = { column: Column; role: Role; said: { role: NamedRole | null; unit: NamedUnit } };

function keepBest(draft: Draft[], role: "time" | "sequence", isForced: boolean): void {
  const rivals = draft.filter((d) => d.role === role);
  if (rivals.length < 2) return;
  const rank = (d: Draft): number => {
    if (isForced) return d.said.role === role ? 0 : 1;
    // A stamp the device made itself beats the clock of the terminal that received it.
    const device = role === "time" && d.column.facts.format.kind !== "clock" && d.said.unit !== null ? 4 : 0;
    return device + (d.said.role === role ? 2 : 0) + (d.column.facts.format.kind === "clock" ? 1 : 0);
  };
  const best = rivals.reduce((a, b) => (rank(b) > rank(a) ? b : a));
  for (const d of rivals) {
    if (d === best) continue;
    // A second evenly rising column without a name may be a ramp's codes.
    d.role = d.said.role === null && d.column.facts.format.kind === "whole" ? "code" : "ignore";
  }
}

/** No column looks like codes: the likeliest whole-number column is taken, unless real volts are there beside a clock. */
function promote(draft: Draft[]): void {
  const whole = draft.filter((d) => d.column.facts.format.kind === "whole" && d.role !== "stimulus");
  const candidates = whole.filter((d) => d.said.role !== "time" && d.said.role !== "volts" && d.said.role !== "other");
  const volts = draft.some((d) => d.role === "volts" && d.column.facts.format.kind === "real");
  const pick =
    candidates.findLast((d) => d.role !== "tag") ?? (volts ? undefined : whole.findLast((d) => d.said.role !== "time"));
  if (pick === undefined) return;
  if (volts && (pick.role === "sequence" || pick.role === "time") && pick.said.role !== "code") return;
  pick.role = "code";
}

function timeUnit(column: Column, named: NamedUnit, hints: ReadingHints): TimeUnit {
  if (column.facts.format.kind === "clock") return "clock";
  if (hints.timeUnit !== undefined && hints.timeUnit !== "clock") return hints.timeUnit;
  const unit = column.unit ?? named;
  if (unit === "s" || unit === "ms" || unit === "us" || unit === "ns" || unit === "ticks") return unit;
  if (column.facts.format.kind === "real") return "s";
  // Seconds, milliseconds … since 1970 give themselves away by their size (years 2001 to 2065).
  const first = column.facts.numbers.find((v) => !Number.isNaN(v)) ?? 0;
  if (first >= 1e9 && first < 3e9 && column.named) return "s";
  if (first >= 1e12 && first < 3e12) return "ms";
  if (first >= 1e15 && first < 3e15) return "us";
  return "unknown";
}
