import type { ReadingHints } from "../bench/bench.ts";
import { channelColumns, type KeyedColumn } from "./channelColumns.ts";
import { columnFormat } from "./columnFormat.ts";
import { columnRoles } from "./columnRoles.ts";
import { cutJson, jsonRows } from "./jsonRecords.ts";
import type { LineForm, ReadingPlan } from "./readingPlan.ts";
import { COMMENT } from "./readingPlan.ts";
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
  const records: Map<string, string>[][] = [];
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
        const rows = parseRecord(utf8.decode(bytes.subarray(start, end)));
        if (rows === null) return false;
        records.push(rows);
        recordBytes += end - start;
        return true;
      },
      text(start, end, place) {
        if (place === "line" && end > start) lineTexts++;
        if (place === "before") prefixes++;
      },
    },
  );
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
  const keyed = [...fields].map(([key, texts], index) => ({
    index,
    key,
    name: key,
    named: true,
    count: texts.filter((t) => t !== "").length,
    facts: columnFormat(texts, { base: hints.base, decimal: hints.decimal }),
    unit: null,
    tagTexts: tagTexts(texts),
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
    form: jsonForm(columns),
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

export function parseRecord(text: string): Map<string, string>[] | null {
  try {
    return jsonRows(JSON.parse(text));
  } catch {
    return null;
  }
}

/** A record's text as rows of fields, laid out by key. */
function jsonForm(columns: readonly KeyedColumn[]): LineForm {
  const codes = columns.filter((c) => c.role === "code" || c.role === "volts");
  return {
    rows(text) {
      const parsed = parseRecord(text);
      if (parsed === null) return DAMAGED_RECORD;
      const rows = parsed.filter((row) => codes.some((c) => row.has(c.key)));
      if (rows.length === 0) return RECORD_WITHOUT_READING;
      return rows.map((row) =>
        columns.map((c) => row.get(c.key) ?? (c.role === "tag" ? (rows[0]!.get(c.key) ?? "") : "")),
      );
    },
  };
}
