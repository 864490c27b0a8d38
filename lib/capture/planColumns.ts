import type { ReadingHints } from "../bench/bench.ts";
import { bytePairOrder } from "./bytePairs.ts";
import { markChannelNames } from "./channelNames.ts";
import { type ColumnFacts, columnFormat, parseNumber } from "./columnFormat.ts";
import { type Column, columnRoles, matches, type RoledColumn } from "./columnRoles.ts";
import { delimitedForm, listBody } from "./delimitedForm.ts";
import { planList, planStream } from "./planList.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import { findHeader, hasCount, hasNumber, isNames, type SampleRow, sampleRows, usualCount } from "./tableSample.ts";
import { tagTexts } from "./tagTexts.ts";

/**
 * Reads the sample as a table with this delimiter.
 * @param lines      cleaned lines of the log's beginning, blank ones included so that line numbers hold
 * @param delimiter  one character; " " for runs of blanks; null for one field a line
 * @param comment    what a comment line looks like
 * @returns null when the lines are no such table
 */
export function planColumns(
  lines: readonly string[],
  delimiter: string | null,
  hints: ReadingHints,
  comment: RegExp,
): ReadingPlan | null {
  const rows = sampleRows(lines, delimiter, comment);
  if (delimiter !== null && rows.some((r) => listBody(lines[r.line - 1]!) !== lines[r.line - 1])) {
    const bracketed = planTuples(lines, delimiter, hints, comment) ?? planList(lines, rows, delimiter, hints, comment);
    if (bracketed !== null) return bracketed;
  }
  // `samples[] = {` above the rows: they are one list, however their columns run.
  if (delimiter !== null && lines.some((l) => /(?:=\s*|^)[{[]$/.test(l))) {
    const listed = planList(lines, rows, delimiter, hints, comment);
    if (listed !== null) return listed;
  }
  const numeric = rows.filter((r) => r.fields.some(hasNumber));
  if (numeric.length === 0 || (delimiter === "," && hints.delimiter === undefined && partsThousands(numeric, rows)))
    return null;
  const { count, ragged } = usualCount(numeric);
  if (delimiter !== null && ragged) {
    const listed = planList(lines, rows, delimiter, hints, comment);
    if (listed !== null) return listed;
  }
  if (delimiter !== null && count < 2) return null;

  const fitting = numeric.filter((r) => hasCount(r, count));
  for (const r of fitting) r.fields.length = count;
  // A header of numbers (channel numbers) is only a header when a person says so.
  const forcedHeader = hints.header === true ? rows.find((r) => hasCount(r, count)) : undefined;
  const data = fitting.filter((r) => r !== forcedHeader && (hints.header === false || !isNames(r, fitting)));
  const { good, facts } = soundRows(data, count, hints);
  if (good.length === 0 || !facts.some((f) => f.format.kind === "whole" || f.format.kind === "real")) return null;

  const firstGood = good[0]!;
  const header =
    forcedHeader ??
    (hints.header === false ? undefined : findHeader(rows, lines, firstGood.line, count, delimiter, comment));
  const names = header?.fields.map((f) => f.replace(/^["']|["']$/g, "").trim()) ?? [];
  const said = names.length > 0 ? names : namesInRows(facts, good);
  const columns: Column[] = facts.map((f, index) => ({
    index,
    name: said[index] || (count === 1 ? "codes" : `column ${index + 1}`),
    named: Boolean(said[index]),
    facts: f,
    unit: null,
    tagTexts: f.format.kind === "text" ? tagTexts(good.map((r) => r.fields[index] ?? "")) : undefined,
  }));
  if (isMessage(columns, good, delimiter)) return null;
  if (delimiter !== null && header === undefined) {
    // A last line that is shorter: a buffer ran out there.
    const last = numeric.at(-1)!;
    const runsOut =
      count >= 4 && last.fields.length < count && last.fields.every((f) => /^[-+]?(?:0x)?[0-9a-f]+$/i.test(f));
    const stream = planStream(
      columns,
      good,
      rows.length,
      delimiter,
      hints,
      comment,
      runsOut && last.line > good.at(-1)!.line,
    );
    if (stream !== null) return stream;
  }
  const { roled, bytePairs } = roles(columns, hints);
  const tagged = roled.some((c) => c.role === "tag") && roled.some((c) => c.role === "code" || c.role === "volts");
  const own = header !== undefined && rows.includes(header) ? 1 : 0;
  return {
    kind: "columns",
    form: delimitedForm(count === 1 ? null : delimiter, count),
    columns: roled,
    layout: tagged ? "tagged" : "rows",
    bytePairs,
    delimiter: count === 1 ? null : delimiter,
    decimal: roled.some((c) => c.facts.format.decimal === ",") ? "," : ".",
    header: header ? names : null,
    headerLine: header?.line ?? 0,
    dataLine: firstGood.line,
    firstLineCut: false,
    perLine: false,
    comment,
    remarks: [],
    explained: good.length,
    seen: rows.length - own,
  };
}

/** `adc0,2047,adc1,1023`: a word that is the same in every row names the number behind it. */
function namesInRows(facts: readonly ColumnFacts[], rows: readonly SampleRow[]): string[] {
  return facts.map((f, i) => {
    if (i === 0 || f.format.kind === "text" || facts[i - 1]!.format.kind !== "text") return "";
    const word = rows[0]!.fields[i - 1] ?? "";
    return /^\$?[A-Za-z][\w.-]{0,15}$/.test(word) && rows.every((r) => r.fields[i - 1] === word) ? word : "";
  });
}

/** Rows whose numeric columns can all be read, and how their columns are written. */
function soundRows(
  data: readonly SampleRow[],
  count: number,
  hints: ReadingHints,
): { good: SampleRow[]; facts: ColumnFacts[] } {
  const factsOf = (rows: readonly SampleRow[]): ColumnFacts[] => {
    const format = (index: number, decimal?: "." | ","): ColumnFacts =>
      columnFormat(
        rows.map((r) => r.fields[index] ?? ""),
        { base: hints.base, decimal: hints.decimal ?? decimal },
      );
    const first = Array.from({ length: count }, (_, i) => format(i));
    // One locale a log: a decimal comma in one column settles what commas and points mean in the others.
    if (hints.base === undefined) markChannelNames(first, (i) => rows.map((r) => r.fields[i] ?? ""));
    if (hints.decimal !== undefined || !first.some((f) => f.format.decimal === ",")) return first;
    return first.map((f, i) => (f.format.kind === "text" || f.format.kind === "clock" ? f : format(i, ",")));
  };
  const soundBy = (facts: readonly ColumnFacts[]): SampleRow[] =>
    data.filter((r) =>
      r.fields.every((field, i) => {
        const { format } = facts[i]!;
        return format.kind === "text" || field === "" || !Number.isNaN(parseNumber(field, format));
      }),
    );
  const first = factsOf(data);
  const good = soundBy(first);
  // A line of the preamble may have made a whole column look real: look again without it.
  const again = good.length === data.length ? first : factsOf(good);
  const facts = sameBase(again, good);
  return { good: again === first && facts.every((f, i) => f === first[i]) ? good : soundBy(facts), facts };
}

/** `(10, 2047)`, `[20, 2051]`: rows of a table in brackets, when their columns are not one stream. */
function planTuples(
  lines: readonly string[],
  delimiter: string,
  hints: ReadingHints,
  comment: RegExp,
): ReadingPlan | null {
  const plan = planColumns(lines.map(listBody), delimiter, hints, comment);
  if (plan === null || plan.perLine || plan.delimiter === null || plan.explained < 4) return null;
  return { ...plan, form: { rows: (text) => plan.form.rows(listBody(text)) } };
}

/** Commas that part thousands, `2,047`, and not columns: groups of three digits throughout, and one of them shows that it is no number of its own. */
function partsThousands(rows: readonly SampleRow[], all: readonly SampleRow[]): boolean {
  // A line of several names has columns below it.
  if (all.some((r) => r.fields.length > 1 && r.fields.every((f) => /^"?\p{L}/u.test(f)))) return false;
  const plain = rows.filter((r) => r.fields.every((f) => /^[+-]?\d+$/.test(f)));
  if (plain.length < 0.8 * rows.length || plain.length < 2) return false;
  const isGrouped = (r: SampleRow): boolean =>
    /^[+-]?[1-9]\d{0,2}$/.test(r.fields[0]!) && r.fields.slice(1).every((f) => /^\d{3}$/.test(f));
  const grouped = plain.filter((r) => r.fields.length > 1);
  if (grouped.length === 0 || !grouped.every(isGrouped)) return false;
  const leadingZero = grouped.some((r) => r.fields.slice(1).some((f) => f.startsWith("0")));
  const alone = plain.filter((r) => r.fields.length === 1);
  const steadyHead = grouped.length >= 8 && new Set(grouped.map((r) => r.fields[0])).size === 1;
  return leadingZero || steadyHead || (alone.length > 0 && alone.every((r) => /^[+-]?\d{1,3}$/.test(r.fields[0]!)));
}

/** Columns of one width beside a hexadecimal one are hexadecimal too, even where no letter shows. */
function sameBase(facts: readonly ColumnFacts[], rows: readonly SampleRow[]): ColumnFacts[] {
  const isBare = (f: ColumnFacts): boolean => f.format.kind === "whole" && f.fewestDigits === f.mostDigits;
  const hex = facts.find((f) => f.format.base === 16 && isBare(f));
  if (hex === undefined) return [...facts];
  return facts.map((f, i) =>
    f.ambiguous && isBare(f) && f.mostDigits === hex.mostDigits
      ? columnFormat(
          rows.map((r) => r.fields[i] ?? ""),
          { base: 16 },
        )
      : f,
  );
}

/** Text beside numbers in a line split at blanks is a message, not a table: `ADC0 = 2047`; so are fields that hold a key with its value. */
function isMessage(columns: readonly Column[], rows: readonly SampleRow[], delimiter: string | null): boolean {
  const texts = columns.filter((c) => c.facts.format.kind === "text" && c.facts.filled > 0);
  if (delimiter === " " && texts.length > 0) return true;
  const holdsPair = (field: string): boolean => /[=:>]\s*[-+]?(?:0x)?[0-9a-f]*\d[0-9a-f]*$/i.test(field);
  // `2047*4F`, `adc 2047`: a number inside the text is for the terminal's reader to find.
  const holdsNumber = (field: string): boolean => /(?:^|\s)\d+(?=$|[\s*])/.test(field) && !/^\d+$/.test(field);
  return texts.some((c) => {
    const inField = rows.filter((r) => holdsPair(r.fields[c.index] ?? "") || holdsNumber(r.fields[c.index] ?? ""));
    return inField.length > 0.3 * rows.length;
  });
}

/** Roles of the columns; two columns of bytes that make one reading are both codes. */
function roles(
  columns: readonly Column[],
  hints: ReadingHints,
): { roled: RoledColumn[]; bytePairs: ReadingPlan["bytePairs"] } {
  const roled = columnRoles(columns, hints);
  const free = columns.filter(
    (c) =>
      c.facts.format.kind === "whole" &&
      !matches(c, hints.time) &&
      !matches(c, hints.sequence) &&
      !(columns.length > 2 && (roled[c.index]!.role === "time" || roled[c.index]!.role === "sequence")),
  );
  const order = free.length === 2 ? bytePairOrder(free, hints) : null;
  if (order === null) return { roled, bytePairs: null };
  return {
    roled: roled.map((c) =>
      free.some((f) => f.index === c.index) ? { ...c, role: "code" as const, timeUnit: null } : c,
    ),
    bytePairs: order,
  };
}
