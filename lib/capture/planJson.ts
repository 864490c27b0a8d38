import type { ReadingHints } from "../bench/bench.ts";
import { channelColumns, type KeyedColumn } from "./channelColumns.ts";
import { markChannelNames } from "./channelNames.ts";
import { columnFormat } from "./columnFormat.ts";
import { columnRoles } from "./columnRoles.ts";
import { cutJson, jsonRows } from "./jsonRecords.ts";
import type { LineForm, ReadingPlan } from "./readingPlan.ts";
import { COMMENT } from "./readingPlan.ts";
import { sameStream } from "./sameStream.ts";
import { tagTexts } from "./tagTexts.ts";

export const RECORD_WITHOUT_READING = "record without a reading";
export const DAMAGED_RECORD = "damaged record";

/**
 * Reads the sample as JSON objects, one a line or back to back.
 * @param bytes  the log's beginning
 * @returns null when it is not mostly JSON objects with numbers in them
 */
export function planJson(
  bytes: Uint8Array,
  final: boolean,
  hints: ReadingHints,
): (ReadingPlan & { usualPrefix: boolean }) | null {
  if (!bytes.includes(0x7b)) return null;
  const values: unknown[] = [];
  const utf8 = new TextDecoder();
  let recordBytes = 0;
  let lineTexts = 0;
  let prefixes = 0;
  cutJson(
    bytes,
    0,
    bytes.length,
    final,
    { afterRecord: false },
    {
      record(start, end) {
        const value = parseJson(utf8.decode(bytes.subarray(start, end)));
        if (value === null) return false;
        values.push(value);
        recordBytes += end - start;
        return true;
      },
      text(start, end, place) {
        if (place === "line" && end > start) lineTexts++;
        if (place === "before") prefixes++;
      },
    },
  );
  const spread = channelLists(values);
  const records = values.map((v) => jsonRows(v, spread));
  if (records.length === 0 || lineTexts > 4 * records.length || recordBytes < 0.2 * bytes.length) return null;

  const fields = new Map<string, string[]>();
  for (const rows of records) {
    for (const row of rows) {
      for (const [key, text] of row) {
        const list = fields.get(key);
        if (list === undefined) fields.set(key, [text]);
        else list.push(text);
      }
    }
  }
  const texts = [...fields.values()];
  const facts = texts.map((list) => columnFormat(list, { base: hints.base, decimal: hints.decimal }));
  if (hints.base === undefined) markChannelNames(facts, (i) => texts[i]!);
  const keyed = [...fields].map(([key, texts], index) => ({
    index,
    key,
    name: key,
    named: true,
    count: texts.filter((t) => t !== "").length,
    facts: facts[index]!,
    unit: null,
    tagTexts: facts[index]!.format.kind === "text" ? tagTexts(texts) : undefined,
  }));
  const roled: KeyedColumn[] = columnRoles(keyed, hints).map((c, i) => ({
    ...c,
    key: keyed[i]!.key,
    count: keyed[i]!.count,
    suffix: null,
  }));
  const chosen = channelColumns(roled, hints);
  const holds = (role: string) => (row: Map<string, string>) => roled.some((c) => c.role === role && row.has(c.key));
  const reading = (row: Map<string, string>): boolean => roled.some((c) => chosen.has(c.key) && row.has(c.key));
  const readingRecords = records.filter((rows) => rows.some(reading));
  if (readingRecords.length === 0) return null;
  const columns = roled.map((c) => {
    if (c.role === "code" && !chosen.has(c.key)) return { ...c, role: "ignore" as const };
    // A stamp in records of its own says nothing about the readings of others.
    if ((c.role === "time" || c.role === "sequence") && !readingRecords.some((rows) => rows.some(holds(c.role))))
      return { ...c, role: "ignore" as const };
    return c;
  });
  const codes = columns.filter((c) => c.role === "code");
  const tagged = columns.some((c) => c.role === "tag");
  const together = readingRecords.every((rows) =>
    rows.filter(reading).every((row) => codes.every((c) => row.has(c.key))),
  );
  return {
    kind: "json-lines",
    form: jsonForm(columns, spread),
    columns,
    layout: tagged ? "tagged" : together ? "rows" : "ragged",
    bytePairs: null,
    delimiter: null,
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: 1,
    firstLineCut: false,
    perLine: readingRecords.some((rows) => rows.length > 1),
    comment: COMMENT,
    remarks: [],
    explained: readingRecords.reduce((n, rows) => n + rows.length, 0),
    seen: records.length,
    usualPrefix: prefixes > 0.5 * records.length,
  };
}

/** An object's value, or null where the text is no JSON. */
function parseJson(text: string): object | null {
  try {
    return JSON.parse(text) as object;
  } catch {
    return null;
  }
}

/**
 * Short lists, the same length in every record, whose places are channels of their own: `{"ch":[2047,1023]}`. A list that runs on from record to record is
 * one channel's.
 */
function channelLists(values: readonly unknown[]): ReadonlySet<string> {
  const lists = new Map<string, number[][]>();
  for (const value of values) {
    for (const [path, list] of Object.entries((value ?? {}) as Record<string, unknown>)) {
      if (!Array.isArray(list)) continue;
      const rows = lists.get(path) ?? [];
      rows.push(list.map((v) => (typeof v === "number" ? v : Number.NaN)));
      lists.set(path, rows);
    }
  }
  const spread = new Set<string>();
  for (const [path, rows] of lists) {
    const width = rows[0]!.length;
    if (width < 2 || width > 16 || rows.length < 8 || rows.some((r) => r.length !== width || r.some(Number.isNaN)))
      continue;
    if (!sameStream(Array.from({ length: width }, (_, c) => rows.map((r) => r[c]!)))) spread.add(path);
  }
  return spread;
}

/** A record's text as rows of fields, laid out by key. */
function jsonForm(columns: readonly KeyedColumn[], spread: ReadonlySet<string>): LineForm {
  const codes = columns.filter((c) => c.role === "code" || c.role === "volts");
  return {
    rows(text) {
      const value = parseJson(text);
      if (value === null) return DAMAGED_RECORD;
      const parsed = jsonRows(value, spread);
      const rows = parsed.filter((row) => codes.some((c) => row.has(c.key)));
      if (rows.length === 0) return RECORD_WITHOUT_READING;
      return rows.map((row) =>
        columns.map((c) => row.get(c.key) ?? (c.role === "tag" ? (rows[0]!.get(c.key) ?? "") : "")),
      );
    },
  };
}
