import type { ReadingHints } from "../bench/bench.ts";
import { pairOrder, smallHalf } from "./bytePairs.ts";
import { columnFormat } from "./columnFormat.ts";
import type { LineForm, ReadingPlan } from "./readingPlan.ts";

// Perhaps words, then bytes of two hexadecimal digits, parted by blanks, commas or colons.
const LINE = /^(.*?)((?:(?:0[xX])?[0-9A-Fa-f]{2}[ ,:;]+)+(?:0[xX])?[0-9A-Fa-f]{2})[ ,;]*$/;

/**
 * Reads the sample as bytes in hexadecimal, two of which make a reading, perhaps behind words: `rx: 07 FF 08 00`.
 * @returns null when the bytes do not show their order, or the lines are something else
 */
export function planBytes(lines: readonly string[], hints: ReadingHints, comment: RegExp): ReadingPlan | null {
  if (hints.channel !== undefined || hints.base === 10) return null;
  const prefixes = new Map<string, { line: number; bytes: string[] }[]>();
  let seen = 0;
  lines.forEach((text, i) => {
    if (text === "" || comment.test(text)) return;
    seen++;
    const cut = cutBytes(text);
    if (cut === null) return;
    const list = prefixes.get(cut.prefix) ?? [];
    list.push({ line: i + 1, bytes: cut.bytes });
    prefixes.set(cut.prefix, list);
  });
  if (prefixes.size === 0) return null;
  const [prefix, rows] = [...prefixes].reduce((a, b) => (b[1].length > a[1].length ? b : a));
  if (rows.length < 0.6 * seen || rows.reduce((n, r) => n + r.bytes.length, 0) < 16) return null;
  if (rows.some((r) => r.bytes.length % 2 !== 0)) return null;
  const values = rows.flatMap((r) => r.bytes.map((b) => Number.parseInt(b, 16)));
  // Decimal numbers of two digits show no letter.
  if (!rows.some((r) => r.bytes.some((b) => /[A-Fa-f]/.test(b)))) return null;
  const first = values.filter((_, i) => i % 2 === 0);
  const second = values.filter((_, i) => i % 2 === 1);
  const order = hints.bytes ?? pairOrder(first, second) ?? smallHalf(first, second);
  if (order === null) return null;
  const facts = columnFormat(
    rows.flatMap((r) => r.bytes),
    { base: 16 },
  );
  const column = { named: false, unit: null, facts, role: "code" as const, timeUnit: null };
  return {
    kind: prefix === "" ? "columns" : "terminal",
    form: bytesForm(prefix),
    columns: [
      { ...column, index: 0, name: "first byte" },
      { ...column, index: 1, name: "second byte" },
    ],
    layout: "rows",
    bytePairs: order,
    delimiter: " ",
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: rows[0]!.line,
    firstLineCut: false,
    perLine: true,
    comment,
    remarks: [],
    explained: rows.length,
    seen,
  };
}

function cutBytes(text: string): { prefix: string; bytes: string[] } | null {
  const m = LINE.exec(text);
  if (m === null || /[0-9A-Za-z]$/.test(m[1]!)) return null;
  return { prefix: m[1]!.trim(), bytes: m[2]!.split(/[ ,:;]+/).map((b) => b.replace(/^0[xX]/, "")) };
}

function bytesForm(prefix: string): LineForm {
  return {
    rows(text) {
      const cut = cutBytes(text);
      if (cut === null || cut.prefix !== prefix) return "text without a reading";
      if (cut.bytes.length % 2 !== 0) return "half a byte pair";
      return Array.from({ length: cut.bytes.length / 2 }, (_, i) => [cut.bytes[2 * i]!, cut.bytes[2 * i + 1]!]);
    },
  };
}
