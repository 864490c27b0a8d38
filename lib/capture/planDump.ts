import type { ReadingHints } from "../bench/bench.ts";
import { pairOrder, smallHalf } from "./bytePairs.ts";
import { columnFormat } from "./columnFormat.ts";
import { COMMENT, type LineForm, type ReadingPlan } from "./readingPlan.ts";

const LINE = /^(0[xX])?([0-9A-Fa-f]{3,16})(?:\s*<[^>]*>)?\s*([:|=])?\s+(.*)$/;
/** A `*` line stands for at most this many words; more is damage. */
const MOST_REPEATED = 1_000_000;

/** The address behind the last word. */
const ALONE = /^(?:0[xX])?([0-9A-Fa-f]{3,16}):?$/;

interface DumpLine {
  readonly address: string;
  readonly words: readonly string[];
  /** A `*` stood above: lines were left out. */
  readonly starred?: boolean;
}

/**
 * Reads the sample as a memory dump: an address, words, perhaps the same bytes as characters. The addresses must count on by the words' size, or it is a
 * table.
 */
export function planDump(lines: readonly string[], hints: ReadingHints): ReadingPlan | null {
  const parsed: (DumpLine & { line: number })[] = [];
  let starred = false;
  let seen = 0;
  lines.forEach((text, i) => {
    if (text === "" || (COMMENT.test(text) && text !== "*")) return;
    seen++;
    const dump = dumpLine(text);
    if (text === "*") starred = true;
    else if (dump !== null) {
      parsed.push({ ...dump, line: i + 1, starred });
      starred = false;
    } else if (ALONE.test(text) && parsed.length > 0) {
      parsed.push({ address: ALONE.exec(text)![1]!, words: [], line: i + 1, starred });
      starred = false;
    }
  });
  if (parsed.length < 2 || parsed.length < 0.5 * seen) return null;
  const size = wordSize(parsed);
  if (size === null) return null;
  const { radix, bytes } = size;
  const width = Math.max(...parsed.map((p) => p.words.length));
  const form = (limit: number): DumpForm => new DumpForm(radix, bytes, limit, null);
  const plain = form(width);
  const good: { line: number; words: readonly string[] }[] = [];
  for (const p of parsed) good.push({ line: p.line, words: p.words.slice(0, width) });
  const facts = columnFormat(
    good.flatMap((g) => g.words),
    { base: hints.base ?? (marked(good) || bytes > 4 ? undefined : baseOf(good, bytes)) },
  );
  if (facts.readable < 0.9) return null;
  let pairs: "big-endian" | "little-endian" | null = null;
  const remarks: string[] = [];
  if (bytes === 1) {
    const xs = facts.numbers.filter((v) => !Number.isNaN(v));
    const even = xs.filter((_, i) => i % 2 === 0);
    const odd = xs.filter((_, i) => i % 2 === 1);
    pairs = hints.bytes ?? pairOrder(even, odd.slice(0, even.length)) ?? smallHalf(even, odd);
    if (pairs === null)
      remarks.push(
        "the dump's bytes were read as 8-bit codes; if two bytes make a reading, state bytes: little-endian or big-endian",
      );
  } else if (hints.bytes === "big-endian" || hints.bytes === "little-endian") {
    remarks.push("bytes were stated, but the dump is printed in words: they were taken as printed");
  }
  const column = { named: false, unit: null, facts, role: "code" as const, timeUnit: null };
  return {
    kind: "memory-dump",
    form: pairs === null ? plain : new DumpForm(radix, bytes, width, pairs),
    columns:
      pairs === null
        ? [{ ...column, index: 0, name: "codes" }]
        : [
            { ...column, index: 0, name: "first byte" },
            { ...column, index: 1, name: "second byte" },
          ],
    layout: "rows",
    bytePairs: pairs,
    delimiter: null,
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: parsed[0]!.line,
    firstLineCut: false,
    perLine: true,
    comment: /^#/,
    remarks,
    explained: parsed.length,
    seen,
  };
}

function dumpLine(text: string): DumpLine | null {
  const m = LINE.exec(text);
  if (m === null) return null;
  // The characters beside the words stand behind a bar or two blanks.
  // Without a colon or 0x a short number may be a reading.
  if (m[1] === undefined && m[3] === undefined && m[2]!.length < 6) return null;
  const body = m[4]!.replace(/\s*\|.*$/, "");
  const words: string[] = [];
  let width = 0;
  for (const piece of body.split(/\s{3,}(?=\S*[^0-9A-Fa-fxX\s])/)[0]!.split(/(\s+)/)) {
    if (/^\s*$/.test(piece)) continue;
    const hex = /^(?:0[xX])?[0-9A-Fa-f]{2,8}[,;]?$/.test(piece);
    const decimal = /^-?\d{1,10}[,;]?$/.test(piece);
    if (!hex && !decimal) break;
    const bare = piece.replace(/[,;]$/, "");
    // Bare hexadecimal words all have one width; what follows in another is text.
    if (hex && !decimal && words.length > 0 && width > 0 && bare.length !== width) break;
    width = words.length === 0 ? bare.length : width;
    words.push(bare);
  }
  return words.length === 0 ? null : { address: m[2]!, words };
}

/** How many bytes a word has, by how the addresses count on; and the radix the addresses are printed in. */
function wordSize(lines: readonly DumpLine[]): { radix: 8 | 10 | 16; bytes: 1 | 2 | 4 } | null {
  for (const radix of [16, 8, 10] as const) {
    if (radix !== 16 && lines.some((l) => (radix === 8 ? /[^0-7]/ : /\D/).test(l.address))) continue;
    const tally = new Map<number, number>();
    let steps = 0;
    for (let i = 1; i < lines.length; i++) {
      if (lines[i]!.starred) continue;
      steps++;
      const step = Number.parseInt(lines[i]!.address, radix) - Number.parseInt(lines[i - 1]!.address, radix);
      const bytes = step / lines[i - 1]!.words.length;
      tally.set(bytes, (tally.get(bytes) ?? 0) + 1);
    }
    for (const bytes of [2, 4, 1] as const) {
      if ((tally.get(bytes) ?? 0) < 0.7 * steps || steps === 0) continue;
      // A column of hexadecimal readings beside a running number is no dump: its words would not fill their bytes.
      const digits = lines[0]!.words[0]!.replace(/^0[xX]/, "").length;
      const allDecimal = lines.every((l) => l.words.every((w) => /^-?\d+$/.test(w)));
      const isWide = lines[0]!.words.length >= 2 || lines[0]!.address.length >= 6;
      if (
        isWide &&
        (digits === 2 * bytes ||
          allDecimal ||
          lines.some((l) => l.words.some((w) => w.length !== lines[0]!.words[0]!.length)))
      )
        return { radix, bytes };
    }
  }
  return null;
}

function marked(lines: readonly { words: readonly string[] }[]): boolean {
  return lines.some((l) => l.words.some((w) => /^0[xX]/.test(w)));
}

/** Bare words of full width are hexadecimal where a letter or a leading zero shows; else their letters decide, as in any column. */
function baseOf(lines: readonly { words: readonly string[] }[], bytes: number): 16 | undefined {
  const words = lines.flatMap((l) => l.words);
  return words.every((w) => w.length === 2 * bytes) && words.some((w) => /^0|[A-Fa-f]/.test(w)) ? 16 : undefined;
}

class DumpForm implements LineForm {
  #last: { end: number; words: readonly string[] } | null = null;
  #starred = false;

  constructor(
    readonly radix: number,
    readonly bytes: number,
    readonly limit: number,
    readonly pairs: "big-endian" | "little-endian" | null,
  ) {}

  rows(text: string): readonly (readonly string[])[] | string {
    if (text === "*") {
      this.#starred = this.#last !== null;
      return "mark for repeated lines";
    }
    const dump = dumpLine(text);
    if (dump === null) {
      // The address behind the last word, alone in its line, ends a repetition.
      const closing = ALONE.exec(text);
      if (closing !== null && this.#starred) {
        const words = this.#repeated(Number.parseInt(closing[1]!, this.radix));
        if (words.length > 0) return this.#cut(words);
      }
      return closing === null ? "text without a reading" : "address without words";
    }
    const words = dump.words.slice(0, this.limit);
    const address = Number.parseInt(dump.address, this.radix);
    const all = this.#starred ? [...this.#repeated(address), ...words] : words;
    this.#last = { end: address + words.length * this.bytes, words };
    return this.#cut(all);
  }

  /** Words that a `*` line stands for: the line before it, again and again up to the next address. */
  #repeated(address: number): string[] {
    this.#starred = false;
    if (this.#last === null) return [];
    const { end, words } = this.#last;
    const missing = (address - end) / this.bytes;
    if (!(missing > 0 && missing <= MOST_REPEATED && missing % words.length === 0)) return [];
    return Array.from({ length: missing }, (_, i) => words[i % words.length]!);
  }

  #cut(words: readonly string[]): string[][] {
    if (this.pairs === null) return words.map((w) => [w]);
    const rows: string[][] = [];
    for (let i = 0; i + 1 < words.length; i += 2) rows.push([words[i]!, words[i + 1]!]);
    return rows;
  }
}
