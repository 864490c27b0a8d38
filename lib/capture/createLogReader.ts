import type { ReadingHints } from "../bench/bench.ts";
import { cleanLine } from "./cleanLine.ts";
import { OTHER_FIELD_COUNT } from "./delimitedForm.ts";
import { detectDialect } from "./detectDialect.ts";
import { detectEncoding, type Encoding, lineText, Utf16ToUtf8 } from "./encoding.ts";
import { type FastScan, fastScan } from "./fastScan.ts";
import { finishLog } from "./finishLog.ts";
import { firstLineCut } from "./firstLineCut.ts";
import { refuseForeignFile } from "./foreignFile.ts";
import { cutJson } from "./jsonRecords.ts";
import { lineCursor, nextLine } from "./lineSplitter.ts";
import type { Log } from "./log.ts";
import { DAMAGED_RECORD, planJson } from "./planJson.ts";
import { endlessLine, nothingFound, tooManyReadings } from "./readerProblems.ts";
import { type ReadingPlan, RULE } from "./readingPlan.ts";
import { RestartWatch } from "./restartWatch.ts";
import { RowCollector } from "./rowCollector.ts";
import { SkipTally } from "./skipTally.ts";
import { statedRate } from "./statedRate.ts";
import { NO_READING } from "./terminalForms.ts";

export interface LogReaderHints extends ReadingHints {
  /** The bytes were unpacked before they came here; only said in the dialect. */
  readonly compressed?: boolean;
  /** How many bytes will come, where that is known: memory is set aside once instead of growing. */
  readonly expectedBytes?: number;
  /** Every line is read the general way, as if there were no fast scanner: what tests hold the scanner against. */
  readonly withoutFastScan?: boolean;
}

export interface LogReader {
  push(bytes: Uint8Array): void;
  end(): Log;
}

/** The dialect is worked out from this much of the log; from four, sixteen, 64 times as much where it holds no readings yet. */
const SAMPLE = 1 << 16;
const LARGEST_SAMPLE = 1 << 22;
/** Lines of the sample that are all judged; after them stretches of so many lines, so many apart. */
const JUDGED_WHOLE = 600;
const STRETCH = 96;
const STRETCH_EVERY = 1200;
/** JSON records show their keys early. */
const JSON_HEAD = 1 << 14;
const BLOCK = 1 << 18;
const LAST_CUT = "last line cut";
/** A longer line is no line of a log. */
export const LONGEST_LINE = 1 << 20;
/** A JSON record may hold a whole capture. */
const LONGEST_RECORD = 1 << 24;
/** 1 GiB of codes. */
const MOST_READINGS = 2 ** 28;
/** A stream of unknown length that never ends stops here. */
const MOST_STREAMED = 1.5e8;

/**
 * Reads a log piece by piece: bytes in, a Log at the end. How the bytes are cut into pieces makes no difference.
 * @param hints  what a person stated; everything else is worked out
 * @throws ProblemError from push or end, when the bytes cannot be a log or hold no reading
 */
export function createLogReader(hints: LogReaderHints = {}): LogReader {
  return new StreamReader(hints);
}

class StreamReader implements LogReader {
  #encoding: Encoding | null = null;
  #converter: Utf16ToUtf8 | null = null;
  /** Bytes not yet worked through; first the whole sample, then block by block. */
  #buffer = new Uint8Array(SAMPLE);
  #filled = 0;
  #bytes = 0;
  #lines = 0;
  #plan: ReadingPlan | null = null;
  #collector: RowCollector | null = null;
  readonly #skips = new SkipTally();
  readonly #remarks: string[] = [];
  readonly #cursor = lineCursor();
  #fast: FastScan | null = null;
  #discarding = false;
  #usualPrefix = false;
  readonly #jsonState = { afterRecord: false };
  #statedRate: number | null = null;
  readonly #restarts = new RestartWatch();

  constructor(readonly hints: LogReaderHints) {}

  push(bytes: Uint8Array): void {
    this.#bytes += bytes.length;
    if (this.#encoding !== null) {
      this.#feed(this.#converter ? this.#converter.convert(bytes) : bytes);
      return;
    }
    // The encoding is judged by the first sample, whatever pieces it comes in.
    const take = Math.min(bytes.length, SAMPLE - this.#filled);
    this.#buffer.set(bytes.subarray(0, take), this.#filled);
    this.#filled += take;
    if (this.#filled < SAMPLE) return;
    this.#decideEncoding();
    if (take < bytes.length) {
      const rest = bytes.subarray(take);
      this.#feed(this.#converter ? this.#converter.convert(rest) : rest);
    }
  }

  end(): Log {
    if (this.#encoding === null) this.#decideEncoding();
    this.#work(true);
    if (this.#plan === null || this.#collector === null) throw nothingFound([], this.#bytes);
    return finishLog({
      plan: this.#plan,
      collector: this.#collector,
      hints: this.hints,
      encoding: this.#encoding ?? "utf-8",
      lines: this.#lines,
      bytes: this.#bytes,
      skips: this.#skips,
      remarks: this.#remarks,
      statedRate: this.#statedRate,
      restarts: this.#restarts,
    });
  }

  #decideEncoding(): void {
    const head = this.#buffer.slice(0, this.#filled);
    refuseForeignFile(head);
    const { encoding, mark } = detectEncoding(head);
    this.#encoding = this.hints.encoding ?? encoding;
    if (this.hints.encoding !== undefined && this.hints.encoding !== encoding && mark > 0) {
      this.#remarks.push(`encoding ${this.hints.encoding} was stated, but the log begins with the mark of ${encoding}`);
    }
    this.#filled = 0;
    if (this.#encoding === "utf-16le" || this.#encoding === "utf-16be") {
      this.#converter = new Utf16ToUtf8(this.#encoding === "utf-16le");
      this.#feed(this.#converter.convert(head));
    } else this.#feed(this.#encoding === encoding ? head.subarray(mark) : head);
  }

  /** Fills the buffer to its brim, works it through, and so on: the cuts depend on the bytes alone. */
  #feed(bytes: Uint8Array): void {
    let at = 0;
    while (at < bytes.length) {
      const n = Math.min(bytes.length - at, this.#buffer.length - this.#filled);
      this.#buffer.set(at === 0 && n === bytes.length ? bytes : bytes.subarray(at, at + n), this.#filled);
      this.#filled += n;
      at += n;
      if (this.#filled === this.#buffer.length) this.#work(false);
    }
  }

  #work(final: boolean): void {
    if (this.#plan === null) {
      this.#decideDialect(final);
      if (this.#plan === null) return;
    }
    const rest = this.#scan(final);
    if (rest > 0) {
      this.#buffer.copyWithin(0, rest, this.#filled);
      this.#filled -= rest;
    }
    if (final) return;
    if (this.#filled === this.#buffer.length) {
      const longest = this.#plan.kind === "json-lines" ? LONGEST_RECORD : LONGEST_LINE;
      if (this.#filled >= longest) this.#discardLongLine();
      else this.#resize(Math.min(2 * this.#buffer.length, longest));
    } else if (this.#buffer.length < BLOCK) this.#resize(BLOCK);
    const most = this.hints.expectedBytes === undefined ? MOST_STREAMED : MOST_READINGS;
    if (this.#collector!.readings > most) {
      throw tooManyReadings(most, this.#lines);
    }
  }

  #resize(length: number): void {
    const larger = new Uint8Array(length);
    larger.set(this.#buffer.subarray(0, this.#filled));
    this.#buffer = larger;
  }

  #decideDialect(final: boolean): void {
    const lines: string[] = [];
    const cursor = lineCursor();
    let judgedLines = 0;
    while (nextLine(this.#buffer, cursor.next, this.#filled, final, cursor)) {
      // Beyond its beginning the sample is judged by stretches of it; lines left out count as blank, so that line numbers hold.
      const judged = lines.length < JUDGED_WHOLE || lines.length % STRETCH_EVERY < STRETCH;
      if (judged) judgedLines++;
      lines.push(judged ? cleanLine(lineText(this.#buffer, cursor.start, cursor.end)) : "");
    }
    const head = Math.min(this.#filled, JSON_HEAD);
    const json =
      planJson(this.#buffer.subarray(0, head), final && head === this.#filled, this.hints) ??
      (head < this.#filled ? planJson(this.#buffer.subarray(0, this.#filled), final, this.hints) : null);
    const plan = json ?? (lines.length === 0 ? null : detectDialect(lines, this.hints));
    this.#usualPrefix = json?.usualPrefix ?? false;
    if (plan === null) {
      if (!final && lines.length === 0 && this.#filled >= LONGEST_LINE) throw endlessLine(this.#filled);
      if (!final && this.#buffer.length < LARGEST_SAMPLE) {
        this.#resize(4 * this.#buffer.length);
        return;
      }
      throw nothingFound(lines, this.#bytes);
    }
    const columns = withUniqueNames(plan.columns);
    this.#plan = { ...plan, columns, firstLineCut: json === null && firstLineCut(plan, lines) };
    const inSample = Math.max(
      plan.explained,
      ...plan.columns.filter((c) => c.role === "code").map((c) => c.facts.filled),
    );
    const perReading =
      json === null
        ? this.#filled / Math.max(1, (inSample * lines.length) / judgedLines)
        : Math.min(head, this.#filled) / Math.max(1, inSample);
    // Twice as much as the sample says: memory that is never written to costs nothing, copying a grown list does.
    const expected = this.hints.expectedBytes === undefined ? 0 : this.hints.expectedBytes / perReading;
    this.#collector = new RowCollector(
      this.#plan,
      Math.ceil(Math.min(Math.max(2 * expected + (expected > 0 ? BLOCK : 0), 4096), MOST_READINGS)),
    );
    this.#fast = this.hints.withoutFastScan === true ? null : fastScan(this.#plan, this.#collector);
  }

  #scan(final: boolean): number {
    if (this.#plan!.kind === "json-lines") return this.#scanJson(final);
    const bytes = this.#buffer;
    const cursor = this.#cursor;
    cursor.next = 0;
    // Every line before this byte ends in a line feed.
    const whole = this.#filled === 0 ? 0 : bytes.lastIndexOf(10, this.#filled - 1) + 1;
    // The preamble is read the general way: a header may look like data.
    const preamble = this.#plan!.firstLineCut ? this.#plan!.dataLine : this.#plan!.headerLine;
    for (;;) {
      if (this.#fast !== null && cursor.next < whole && !this.#discarding && this.#lines >= preamble) {
        const at = cursor.next;
        const before = this.#fast.lines;
        cursor.next = this.#fast.scan(bytes, at, whole);
        this.#lines += this.#fast.lines - before;
        if (cursor.next > at) cursor.afterLineFeed = true;
        if (cursor.next === whole && whole === this.#filled) return whole;
      }
      if (!nextLine(bytes, cursor.next, this.#filled, final, cursor)) return cursor.next;
      this.#lines++;
      if (this.#discarding) this.#discarding = false;
      else this.#readLine(lineText(bytes, cursor.start, cursor.end), cursor.terminated);
    }
  }

  #scanJson(final: boolean): number {
    return cutJson(this.#buffer, 0, this.#filled, final, this.#jsonState, {
      record: (start, end) => {
        const text = lineText(this.#buffer, start, end);
        const rows = this.#plan!.form.rows(text);
        if (rows === DAMAGED_RECORD) return false;
        this.#lines++;
        const reason = typeof rows === "string" ? rows : this.#collector!.take(rows, this.#lines, text);
        if (reason !== null) this.#skips.add(reason, this.#lines, text);
        return true;
      },
      text: (start, end, place) => {
        const text = cleanLine(lineText(this.#buffer, start, end));
        if (place !== "line" && (this.#usualPrefix || /^[\s,[\]]*$/.test(text))) return;
        this.#lines++;
        const reason =
          text === ""
            ? "blank line"
            : /^[\s,[\]]*$/.test(text)
              ? "brackets"
              : /["{}[\]]/.test(text)
                ? "cut record"
                : NO_READING;
        this.#skips.add(reason, this.#lines, text);
      },
    });
  }

  /** One line by the general way: cut into fields, read by each column's format, counted by its reason when it gives no reading. */
  #readLine(raw: string, terminated: boolean): void {
    const plan = this.#plan!;
    const line = this.#lines;
    const text = cleanLine(raw);
    let reason = this.#preliminary(text, line);
    if (reason === null) {
      const rows = plan.form.rows(text);
      if (typeof rows === "string") reason = this.#reasonOf(text, rows);
      else if (!terminated && this.#collector!.looksCut(rows, text)) reason = LAST_CUT;
      else {
        reason = this.#collector!.take(rows, line, text);
        if (reason === null) return;
        reason = this.#reasonOf(text, reason);
      }
      if (!terminated && line > 1 && reason !== "comment") reason = LAST_CUT;
    }
    this.#statedRate ??= statedRate(text);
    this.#restarts.see(text, line, reason, this.#collector!.readings);
    this.#skips.add(reason, line, raw);
  }

  /** Lines that need no reading to be told. */
  #preliminary(text: string, line: number): string | null {
    const plan = this.#plan!;
    if (text === "") return "blank line";
    if (line === plan.headerLine) return "header";
    if (plan.firstLineCut && line === plan.dataLine) return "first line cut";
    const startsLikeData = plan.delimiter === ";" && /^;\s*[-+\d]/.test(text);
    return plan.comment.test(text) && !startsLikeData ? "comment" : null;
  }

  #reasonOf(text: string, reason: string): string {
    const plan = this.#plan!;
    if (RULE.test(text)) return "ruling";
    if (plan.kind === "columns") {
      if (plan.header !== null && plan.header.length > 0 && plan.header.every((h) => text.includes(h))) return "header";
      // A row of the right width keeps its reason; anything else with words in it is a message.
      const isMessage =
        !/\d/.test(text) || /\p{L}{3}/u.test(text) || (plan.delimiter !== null && !text.includes(plan.delimiter));
      const isRow = plan.delimiter !== null && reason !== OTHER_FIELD_COUNT;
      if (isMessage && !isRow) return NO_READING;
    }
    return reason;
  }

  #discardLongLine(): void {
    if (!this.#discarding) {
      this.#skips.add(`line longer than ${LONGEST_LINE} bytes`, this.#lines + 1, lineText(this.#buffer, 0, 200));
    }
    this.#filled = 0;
    this.#discarding = true;
  }
}

/** Two columns of one name, `adc,adc`, are told apart: `adc`, `adc.2`. */
function withUniqueNames(columns: ReadingPlan["columns"]): ReadingPlan["columns"] {
  const seen = new Map<string, number>();
  return columns.map((c) => {
    const times = (seen.get(c.name) ?? 0) + 1;
    seen.set(c.name, times);
    return times === 1 ? c : { ...c, name: `${c.name}.${times}` };
  });
}
