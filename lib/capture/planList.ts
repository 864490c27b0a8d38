import type { ReadingHints } from "../bench/bench.ts";
import { courseOf } from "./columnCourse.ts";
import { columnFormat, parseNumber } from "./columnFormat.ts";
import type { Column, RoledColumn } from "./columnRoles.ts";
import { columnRoles, matches } from "./columnRoles.ts";
import { listBody, listForm, splitFields } from "./delimitedForm.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import { sameStream } from "./sameStream.ts";
import type { SampleRow } from "./tableSample.ts";

/** Lines of differing length, or in brackets, all whole numbers: lists of readings. */
export function planList(
  lines: readonly string[],
  rows: readonly SampleRow[],
  delimiter: string,
  hints: ReadingHints,
  comment: RegExp,
): ReadingPlan | null {
  const lists = rows.flatMap(({ line }) => {
    const fields = splitFields(listBody(lines[line - 1]!), delimiter);
    while (fields.length > 1 && fields[fields.length - 1] === "") fields.pop();
    return fields.every((f) => /^[-+]?(?:0x)?[0-9a-f]+$/i.test(f)) ? [{ line, fields }] : [];
  });
  if (lists.length === 0 || lists.length < 0.5 * rows.length) return null;
  const facts = columnFormat(
    lists.flatMap((l) => l.fields),
    { base: hints.base, decimal: hints.decimal },
  );
  if (facts.format.kind !== "whole" || facts.readable < 0.95) return null;
  const good = lists.filter((l) => l.fields.every((f) => !Number.isNaN(parseNumber(f, facts.format))));
  if (good.length === 0) return null;
  const codes = { index: 0, name: "codes", named: false, facts, unit: null, role: "code" as const, timeUnit: null };
  return listPlan(delimiter, 0, [codes], good, rows.length, comment);
}

/**
 * A table without header whose columns run on from one into the next: one stream of readings, several a line, perhaps behind a time stamp.
 * @param runsOut  the last line is shorter than the others
 * @returns null when the columns are channels of their own
 */
export function planStream(
  columns: readonly Column[],
  rows: readonly SampleRow[],
  seen: number,
  delimiter: string,
  hints: ReadingHints,
  comment: RegExp,
  runsOut = false,
): ReadingPlan | null {
  if (columns.some((c) => matches(c, hints.channel)) || hints.interleave !== undefined || hints.bytes !== undefined)
    return null;
  const lead = streamStart(columns, hints, runsOut);
  if (lead < 0) return null;
  const facts = columnFormat(
    rows.flatMap((r) => r.fields.slice(lead)),
    { base: hints.base, decimal: hints.decimal },
  );
  const codes: Column = { index: lead, name: "codes", named: false, facts, unit: null };
  const roled: RoledColumn[] =
    lead === 0 ? [{ ...codes, role: "code", timeUnit: null }] : columnRoles([...columns.slice(0, lead), codes], hints);
  if (roled[lead]!.role !== "code") return null;
  return listPlan(delimiter, lead, roled, rows, seen, comment);
}

/** Columns from which one among them may look like something else by chance. */
const MANY = 8;

/** From which column on the readings are one stream; −1 when they are not. */
function streamStart(columns: readonly Column[], hints: ReadingHints, runsOut: boolean): number {
  const isWhole = (from: number): boolean =>
    columns.length - from >= 2 && columns.slice(from).every((c) => c.facts.format.kind === "whole");
  const numbers = (from: number): (readonly number[])[] => columns.slice(from).map((c) => c.facts.numbers);
  // Readings that clearly run on need no roles: a ramp's first column would pass for time.
  const roled = columnRoles(columns, hints);
  const leads = (from: number): boolean =>
    roled.slice(0, from).every((c) => c.role === "time" || c.role === "sequence");
  for (const from of [0, 1, 2]) if (isWhole(from) && leads(from) && sameStream(numbers(from), true)) return from;
  const firstCode = roled.findIndex((c) => c.role === "code");
  const from = firstCode === 1 && isLikeTheRest(columns) ? 0 : firstCode;
  if (from < 0 || !isWhole(from)) return -1;
  // Nobody prints time between columns of codes: one of many columns that rises evenly does so by chance, a tone's phase returning line by line.
  const odd = roled.slice(firstCode, -1).filter((c) => c.role !== "code").length;
  if (odd > (columns.length - from >= MANY ? 1 : 0) || roled.at(-1)!.role !== "code") return -1;
  return runsOut || sameStream(numbers(from)) ? from : -1;
}

/** A first column of many that rises, but unevenly and within the range of the others: readings, not time. */
function isLikeTheRest(columns: readonly Column[]): boolean {
  if (columns.length < MANY) return false;
  const [first, ...rest] = columns.map((c) => c.facts.numbers);
  const all = rest.flat();
  return (
    courseOf(first!).even < 0.9 &&
    lowest(first!) >= lowest(all) &&
    first!.reduce((a, b) => Math.max(a, b)) <= all.reduce((a, b) => Math.max(a, b))
  );
}

function lowest(xs: readonly number[]): number {
  return xs.reduce((a, b) => Math.min(a, b));
}

function listPlan(
  delimiter: string,
  lead: number,
  columns: readonly RoledColumn[],
  good: readonly { line: number }[],
  seen: number,
  comment: RegExp,
): ReadingPlan {
  return {
    kind: "columns",
    form: listForm(delimiter, lead),
    columns,
    layout: "rows",
    bytePairs: null,
    delimiter,
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: good[0]!.line,
    firstLineCut: false,
    perLine: true,
    comment,
    remarks: [],
    explained: good.length,
    seen,
  };
}
