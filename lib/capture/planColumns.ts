import type { ReadingHints } from "../bench/bench.ts";
import { bytePairOrder } from "./bytePairs.ts";
import { type ColumnFacts, columnFormat, parseNumber } from "./columnFormat.ts";
import { type Column, columnRoles } from "./columnRoles.ts";
import { delimitedForm, listForm, splitFields } from "./delimitedForm.ts";
import { COMMENT, type ReadingPlan, RULE } from "./readingPlan.ts";
import { sameStream } from "./sameStream.ts";
import { tagTexts } from "./tagTexts.ts";

/**
 * Reads the sample as a table with this delimiter.
 * @param lines  cleaned lines of the log's beginning, blank ones included so that line numbers hold
 * @param delimiter  one character; " " for runs of blanks; null for one field a line
 * @returns null when the lines are no such table
 */
export function planColumns(
  lines: readonly string[],
  delimiter: string | null,
  hints: ReadingHints,
): ReadingPlan | null {
  const cut = (line: string): string[] => {
    if (delimiter === null) return [line];
    const fields = splitFields(line, delimiter);
    return fields;
  };
  const rows: { line: number; fields: string[] }[] = [];
  let seen = 0;
  lines.forEach((line, i) => {
    if (line === "" || RULE.test(line) || (COMMENT.test(line) && !looksLikeData(line, delimiter))) return;
    seen++;
    rows.push({ line: i + 1, fields: cut(line) });
  });
  if (rows.length === 0) return null;

  const numeric = rows.filter((r) => r.fields.some(hasNumber));
  if (numeric.length === 0) return null;
  const { count, ragged } = fieldCount(numeric.map((r) => trimmedLength(r.fields)));
  if (delimiter !== null && count < 2 && !ragged) return null;
  const listed = delimiter !== null && ragged ? planList(lines, rows, delimiter, hints, seen) : null;
  if (listed !== null) return listed;

  const fitting = numeric.filter((r) => trimmedLength(r.fields) === count);
  for (const r of fitting) r.fields.length = count;
  // A header of numbers (channel numbers) is only a header when a person says so.
  const forcedHeader = hints.header === true ? rows.find((r) => trimmedLength(r.fields) === count) : undefined;
  const data = fitting.filter((r) => r !== forcedHeader && !isNames(r, fitting));
  const factsOf = (index: number, decimal?: "." | ","): ColumnFacts =>
    columnFormat(
      data.map((r) => r.fields[index] ?? ""),
      { base: hints.base, decimal: hints.decimal ?? decimal },
    );
  let facts = Array.from({ length: count }, (_, i) => factsOf(i));
  // One locale a log: a decimal comma in one column settles what commas and points mean in the others.
  if (hints.decimal === undefined && facts.some((f) => f.format.decimal === ",")) {
    facts = facts.map((f, i) => (f.format.kind === "text" || f.format.kind === "clock" ? f : factsOf(i, ",")));
  }
  if (!facts.some((f) => f.format.kind === "whole" || f.format.kind === "real")) return null;

  // Rows are data when every numeric column can be read.
  const good = data.filter((r) =>
    r.fields.every((field, i) => {
      const { format } = facts[i]!;
      return format.kind === "text" || field === "" || !Number.isNaN(parseNumber(field, format));
    }),
  );
  if (good.length === 0) return null;
  const firstGood = good[0]!;
  const header =
    forcedHeader ?? (hints.header === false ? undefined : findHeader(rows, lines, firstGood.line, count, delimiter));
  const names = header?.fields ?? [];
  const columns: Column[] = facts.map((f, index) => ({
    index,
    name: names[index]?.replace(/^["']|["']$/g, "").trim() || (count === 1 ? "codes" : `column ${index + 1}`),
    named: Boolean(names[index]?.trim()),
    facts: columnFormat(
      good.map((r) => r.fields[index] ?? ""),
      { base: f.format.kind === "whole" ? f.format.base : undefined, decimal: f.format.decimal },
    ),
    unit: null,
    tagTexts: f.format.kind === "text" ? tagTexts(good.map((r) => r.fields[index] ?? "")) : undefined,
  }));
  // Text beside numbers in a line split at blanks is a message, not a table: `ADC0 = 2047`.
  const texts = columns.filter((c) => c.facts.format.kind === "text" && c.facts.filled > 0);
  if (delimiter === " " && texts.length > 0) return null;
  const holdsPairs = (field: string): boolean => /[=:>]\s*[-+]?(?:0x)?[0-9a-f]*\d[0-9a-f]*$/i.test(field);
  if (texts.some((c) => good.filter((r) => holdsPairs(r.fields[c.index] ?? "")).length > 0.3 * good.length))
    return null;

  const stream = delimiter !== null && header === undefined ? asStream(columns, good, delimiter, hints) : null;
  if (stream !== null)
    return { ...stream, explained: good.length, seen, dataLine: firstGood.line, firstLineCut: false };

  const roled = columnRoles(withAmbiguity(columns, facts), hints);
  const codes = roled.filter((c) => c.role === "code");
  const tag = roled.find((c) => c.role === "tag");
  const bytePairs = codes.length === 2 ? bytePairOrder(codes, hints) : null;
  const layout = tag !== undefined && codes.length >= 1 ? "tagged" : "rows";
  return {
    kind: "columns",
    form: delimitedForm(count === 1 ? null : delimiter, count),
    columns: roled,
    layout,
    bytePairs,
    delimiter: count === 1 ? null : delimiter,
    decimal: roled.some((c) => c.facts.format.decimal === ",") ? "," : ".",
    header: header ? names : null,
    headerLine: header?.line ?? 0,
    dataLine: firstGood.line,
    firstLineCut: false,
    perLine: false,
    comment: COMMENT,
    remarks: [],
    explained: good.length - (header !== undefined && good.includes(header) ? 1 : 0),
    seen: seen - (header !== undefined && rows.includes(header) ? 1 : 0),
  };
}

/** The second pass over the good rows must not lose that a column's base is still open. */
function withAmbiguity(columns: readonly Column[], facts: readonly ColumnFacts[]): Column[] {
  return columns.map((c, i) => ({
    ...c,
    facts: { ...c.facts, format: facts[i]!.format, ambiguous: facts[i]!.ambiguous },
  }));
}

function looksLikeData(line: string, delimiter: string | null): boolean {
  // `;` as first character is an empty first field where `;` parts the fields; a * or ! never starts data.
  return delimiter === ";" && /^;\s*[-+\d]/.test(line);
}

function hasNumber(field: string): boolean {
  return /^["'=]*[-+$#%]?(?:\d|\.\d|[0-9A-Fa-f]{2,8}["']?$)/.test(field.trim());
}

/** Names may look like hexadecimal, `adc0`: words with letters in a row above rows that have none there. */
function isNames(row: { line: number; fields: string[] }, all: readonly { line: number; fields: string[] }[]): boolean {
  if (row !== all[0] || all.length < 2) return false;
  const rest = all.slice(1, 200);
  return row.fields.some((field, i) => {
    if (!/^["']?[\p{L}_]/u.test(field)) return false;
    const lettered = rest.filter((r) => /^["']?[\p{L}_]/u.test(r.fields[i] ?? "")).length;
    return lettered <= (rest.length < 20 ? 0 : 0.05 * rest.length);
  });
}

function trimmedLength(fields: readonly string[]): number {
  let n = fields.length;
  while (n > 1 && fields[n - 1]!.trim() === "") n--;
  return n;
}

/** The usual number of fields, and whether lines differ so much in it that they are lists of readings. */
function fieldCount(lengths: readonly number[]): { count: number; ragged: boolean } {
  const tally = new Map<number, number>();
  for (const n of lengths) tally.set(n, (tally.get(n) ?? 0) + 1);
  const [count, most] = [...tally].reduce((a, b) => (b[1] > a[1] || (b[1] === a[1] && b[0] > a[0]) ? b : a));
  return { count, ragged: tally.size > 1 && most < 0.6 * lengths.length };
}

/** The last line of text before the data with as many fields, or a commented one. */
function findHeader(
  rows: readonly { line: number; fields: string[] }[],
  lines: readonly string[],
  firstData: number,
  count: number,
  delimiter: string | null,
): { line: number; fields: string[] } | undefined {
  const wordy = (fields: readonly string[]): boolean =>
    fields.some((f) => /[\p{L}]/u.test(f)) &&
    fields.every((f) => !/^[-+]?\d+([.,]\d+)?$/.test(f.trim()) || f.trim() === "");
  const before = rows.filter(
    (r) =>
      r.line < firstData &&
      trimmedLength(r.fields) >= Math.max(1, count - 1) &&
      r.fields.length <= count + 1 &&
      wordy(r.fields),
  );
  const exact = before.filter((r) => r.fields.length === count || trimmedLength(r.fields) === count);
  const last = exact.at(-1);
  if (last !== undefined && (count > 1 || last.line >= firstData - 2)) {
    // Names in one line, units in the next: `time;adc` / `us;LSB`.
    const above = exact.at(-2);
    if (
      above !== undefined &&
      above.line === last.line - 1 &&
      last.fields.every((f) => /^\W*[a-zµμ%°]{0,6}\W*$/i.test(f))
    ) {
      return {
        line: above.line,
        fields: above.fields.map((f, i) => (last.fields[i] ? `${f} (${last.fields[i]!.replace(/[()[\]]/g, "")})` : f)),
      };
    }
    if (count > 1 || /^[\p{L}_][\p{L}\d_ ()[\]./µμ-]{0,40}$/u.test(last.fields[0]!)) return last;
  }
  // `# t_us, adc0` above the data.
  for (let line = firstData - 1; line >= 1; line--) {
    const text = lines[line - 1] ?? "";
    if (text === "") continue;
    if (!COMMENT.test(text)) break;
    const fields =
      delimiter === null
        ? [text.replace(COMMENT, "").trim()]
        : splitFields(text.replace(COMMENT, "").trim(), delimiter);
    if (count > 1 && fields.length === count && wordy(fields)) return { line, fields };
  }
  return undefined;
}

/** A table without header whose columns run on from one into the next is one stream of readings, several a line. */
function asStream(
  columns: readonly Column[],
  rows: readonly { fields: string[] }[],
  delimiter: string,
  hints: ReadingHints,
) {
  const roled = columnRoles(columns, hints);
  const lead = roled.findIndex((c) => c.role === "code");
  if (lead < 0 || hints.channel !== undefined || hints.interleave !== undefined) return null;
  const codes = roled.slice(lead);
  if (codes.length < 2 || !codes.every((c) => c.role === "code")) return null;
  if (!roled.slice(0, lead).every((c) => c.role === "time" || c.role === "sequence" || c.role === "ignore"))
    return null;
  if (!sameStream(codes.map((c) => c.facts.numbers))) return null;
  const bytePairs = bytePairOrder(codes, hints);
  if (bytePairs !== null) return null;
  const format = columnFormat(
    rows.flatMap((r) => r.fields.slice(lead)),
    { base: hints.base, decimal: hints.decimal },
  );
  const merged = columnRoles(
    [...columns.slice(0, lead), { index: lead, name: "codes", named: false, facts: format, unit: null }],
    hints,
  ).map((c) =>
    c.index === lead
      ? { ...c, role: "code" as const }
      : { ...c, role: roled[c.index]!.role, timeUnit: roled[c.index]!.timeUnit },
  );
  return {
    kind: "columns" as const,
    form: listForm(delimiter, lead),
    columns: merged,
    layout: "rows" as const,
    bytePairs: null,
    delimiter,
    decimal: format.format.decimal,
    header: null,
    headerLine: 0,
    perLine: true,
    comment: COMMENT,
    remarks: [],
  };
}

/** Lines of differing length, all numbers: lists of readings. */
function planList(
  lines: readonly string[],
  rows: readonly { line: number; fields: string[] }[],
  delimiter: string,
  hints: ReadingHints,
  seen: number,
): ReadingPlan | null {
  const whole = rows.filter((r) =>
    r.fields.every(
      (f, i) => /^[-+]?(?:0x)?[0-9a-f]+$/i.test(f.trim()) || (f.trim() === "" && i === r.fields.length - 1),
    ),
  );
  if (whole.length < 0.6 * rows.length || lines.length === 0) return null;
  const values = whole.flatMap((r) => r.fields.filter((f) => f.trim() !== ""));
  const facts = columnFormat(values, { base: hints.base, decimal: hints.decimal });
  if (facts.format.kind !== "whole" || facts.readable < 0.95) return null;
  const good = whole.filter((r) =>
    r.fields.every((f) => f.trim() === "" || !Number.isNaN(parseNumber(f, facts.format))),
  );
  if (good.length === 0) return null;
  return {
    kind: "columns",
    form: listForm(delimiter, 0),
    columns: [{ index: 0, name: "codes", named: false, facts, unit: null, role: "code", timeUnit: null }],
    layout: "rows",
    bytePairs: null,
    delimiter,
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: good[0]!.line,
    firstLineCut: false,
    perLine: true,
    comment: COMMENT,
    remarks: [],
    explained: good.length,
    seen,
  };
}
