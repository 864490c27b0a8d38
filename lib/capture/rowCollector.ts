import { parseClock } from "./clockTime.ts";
import { parseNumber, withoutMark } from "./columnFormat.ts";
import type { RoledColumn } from "./columnRoles.ts";
import { standsApart } from "./firstLineCut.ts";
import { RealList, WordList } from "./growable.ts";
import { isWord, type NumberFormat, parseReal } from "./numberFormat.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import type { ClockParts } from "./scanProgram.ts";

/** One channel's readings as they come in. */
export interface Lane {
  readonly name: string;
  readonly codes: WordList;
  /** Of its own where channels are ragged or tagged, else shared. */
  readonly time: RealList | null;
  readonly sequence: RealList | null;
  readonly columns: ReadonlyMap<string, RealList>;
  readonly volts: RealList | null;
  /** Read as hexadecimal by their letters while the column passed for decimal: which readings, and whether the column was open at all. */
  readonly lettered: number[];
  readonly ambiguous: boolean;
}

export const EMPTY_FIELD = "empty reading";
export const NOT_WHOLE = "not a whole number";
export const TOO_LARGE = "number outside 32 bits";
const BARE_HEX = /^[0-9A-Fa-f]{1,8}$/;
export const NOT_A_STAMP = "damaged time stamp or running number";

/**
 * Gathers readings, stamps and sequence numbers of rows. A row counts when all its channels can be read; a damaged stamp leaves NaN, for the reading
 * itself is sound.
 */
export class RowCollector {
  readonly lanes = new Map<string, Lane>();
  readonly time: RoledColumn | null;
  readonly sequence: RoledColumn | null;
  readonly #codes: readonly RoledColumn[];
  readonly #tag: RoledColumn | null;
  readonly #stamps: readonly RoledColumn[];
  readonly #extra: readonly RoledColumn[];
  readonly #voltsOnly: boolean;
  readonly #capacity: number;
  readonly #shared: { time: RealList | null; sequence: RealList | null; columns: ReadonlyMap<string, RealList> };
  /** Examples of lines whose letters leave the base open. */
  readonly letteredLines: { readonly line: number; readonly text: string }[] = [];
  readonly #letterFlags: boolean[] = [];
  #clockStart: number | null = null;
  #longStart: bigint | null = null;
  #values: number[] = [];
  #firsts: Lane[] = [];
  clockResolution = 1;

  constructor(
    readonly plan: ReadingPlan,
    capacity: number,
  ) {
    this.#codes = plan.columns.filter((c) => c.role === "code");
    this.#voltsOnly = this.#codes.length === 0;
    if (this.#voltsOnly) this.#codes = plan.columns.filter((c) => c.role === "volts").slice(0, 1);
    this.#tag = plan.layout === "tagged" ? (plan.columns.find((c) => c.role === "tag") ?? null) : null;
    const time = plan.columns.find((c) => c.role === "time") ?? null;
    this.time = time?.timeUnit === "unknown" ? null : time;
    this.sequence = plan.columns.find((c) => c.role === "sequence") ?? null;
    this.#stamps = plan.columns.filter((c) => c.role === "time" || c.role === "sequence");
    this.#extra = plan.columns.filter((c) => c.role === "stimulus");
    this.#capacity = capacity;
    this.#shared = this.#timing(capacity);
    if (plan.layout === "rows") {
      const names = plan.bytePairs !== null ? [pairName(this.#codes)] : this.#codes.map((c) => c.name);
      for (const name of names) this.#lane(name);
    }
    // In the order of the columns, whichever comes first in the log.
    if (plan.layout === "ragged") for (const column of this.#codes) this.#lane(column.name);
    this.#firsts = [...this.lanes.values()];
  }

  #timing(capacity: number) {
    return {
      time: this.time ? new RealList(capacity) : null,
      sequence: this.sequence ? new RealList(capacity) : null,
      columns: new Map(this.#extra.map((c) => [c.name, new RealList(capacity)])),
    };
  }

  #lane(name: string): Lane {
    let lane = this.lanes.get(name);
    if (lane === undefined) {
      const timing = this.plan.layout === "rows" ? this.#shared : this.#timing(1024);
      lane = {
        name,
        codes: new WordList(this.plan.layout === "rows" && !this.#voltsOnly ? this.#capacity : 1024),
        volts: this.#voltsOnly ? new RealList(1024) : null,
        lettered: [],
        ambiguous: this.plan.layout === "rows" && (this.#codes.find((c) => c.name === name)?.facts.ambiguous ?? false),
        ...timing,
      };
      this.lanes.set(name, lane);
    }
    return lane;
  }

  get readings(): number {
    let n = 0;
    for (const lane of this.lanes.values()) n += lane.codes.length + (lane.volts?.length ?? 0);
    return n;
  }

  /** Takes the rows of one line, all or none. @returns null, or why the line gives no reading */
  take(rows: readonly (readonly string[])[], line = 0, text = ""): string | null {
    const values = this.#values;
    const flags = this.#letterFlags;
    values.length = 0;
    flags.length = 0;
    let letters = 0;
    for (const row of rows) {
      let present = 0;
      for (const column of this.#codes) {
        const field = row[column.index] ?? "";
        if (field === "" || field === '""') {
          values.push(Number.NaN);
          continue;
        }
        let value = this.#voltsOnly ? parseReal(field, column.facts.format) : parseNumber(field, column.facts.format);
        if (Number.isNaN(value) && column.facts.ambiguous && this.plan.layout === "rows" && BARE_HEX.test(field)) {
          value = Number.parseInt(field, 16);
          flags[values.length] = true;
          letters++;
        }
        if (Number.isNaN(value)) return NOT_WHOLE;
        if (!this.#voltsOnly && !isWord(value)) return TOO_LARGE;
        values.push(value);
        present++;
      }
      // Text where the stamp or the running number should be: the whole line is damaged, or it is no reading at all.
      if (!this.#stampsReadable(row)) return NOT_A_STAMP;
      if (present === 0 || (this.plan.layout === "rows" && present < this.#codes.length)) return EMPTY_FIELD;
    }
    if (letters > 0 && this.letteredLines.length < 3) this.letteredLines.push({ line, text });
    let v = 0;
    for (const row of rows) {
      if (this.plan.layout === "rows") v = this.#takeRow(row, values, v);
      else v = this.#takeLoose(row, values, v);
    }
    return null;
  }

  /**
   * Does a last line without a line end break off inside its last reading? Its number then has fewer digits than the last ones before it, and stands far
   * from them.
   */
  looksCut(rows: readonly (readonly string[])[], text: string): boolean {
    const row = rows[rows.length - 1];
    const column = this.#codes[this.#codes.length - 1];
    const lane = this.#firsts[this.#firsts.length - 1];
    if (row === undefined || column === undefined || lane === undefined || this.#voltsOnly) return false;
    const field = row[column.index] ?? "";
    if (field === "" || !text.endsWith(field)) return false;
    const { base } = column.facts.format;
    const before = Array.from(
      lane.codes.words.subarray(Math.max(0, lane.codes.length - 256), lane.codes.length),
    ).reverse();
    // As they were written: padded where the column is.
    const texts = before.map((v) =>
      Math.abs(base === 10 ? v : v >>> 0)
        .toString(base)
        .padStart(column.facts.paddedTo, "0"),
    );
    return standsApart(withoutMark(field, base), texts, base);
  }

  #stampsReadable(row: readonly string[]): boolean {
    for (const column of this.#stamps) {
      const field = row[column.index] ?? "";
      if (field !== "" && Number.isNaN(parseStamp(field, column.facts.format))) return false;
    }
    return true;
  }

  #takeRow(row: readonly string[], values: readonly number[], from: number): number {
    let v = from;
    const lanes = this.#firsts;
    if (this.plan.bytePairs !== null) {
      const [a, b] = [values[v]!, values[v + 1]!];
      v += 2;
      lanes[0]!.codes.push(this.plan.bytePairs === "big-endian" ? (a << 8) | (b & 255) : (b << 8) | (a & 255));
    } else {
      for (const lane of lanes) {
        if (this.#letterFlags[v] === true) lane.lettered.push(lane.codes.length);
        const value = values[v++]!;
        if (lane.volts) lane.volts.push(value);
        else lane.codes.push(value);
      }
    }
    this.#stamp(this.#shared, row);
    return v;
  }

  #takeLoose(row: readonly string[], values: readonly number[], from: number): number {
    let v = from;
    for (const column of this.#codes) {
      const value = values[v++]!;
      if (Number.isNaN(value)) continue;
      const tag = this.#tag === null ? "" : (row[this.#tag.index] ?? "").trim();
      const name =
        this.#tag === null ? column.name : tagName(this.#tag, tag, this.#codes.length > 1 ? column.name : "");
      const lane = this.#lane(name);
      if (lane.volts) lane.volts.push(value);
      else lane.codes.push(value);
      this.#stamp(lane, row);
    }
    return v;
  }

  #stamp(to: Pick<Lane, "time" | "sequence" | "columns">, row: readonly string[]): void {
    if (this.time !== null) to.time!.push(this.#readTime(row[this.time.index] ?? "", this.time.facts.format));
    if (this.sequence !== null) {
      const field = row[this.sequence.index] ?? "";
      to.sequence!.push(field === "" ? Number.NaN : parseNumber(field, this.sequence.facts.format));
    }
    for (const column of this.#extra) {
      to.columns.get(column.name)!.push(parseReal(row[column.index] ?? "", column.facts.format));
    }
  }

  #readTime(field: string, format: NumberFormat): number {
    if (field === "") return Number.NaN;
    if (format.kind !== "clock") return field.length > 15 ? this.#longStamp(field, format) : parseStamp(field, format);
    const clock = parseClock(field);
    if (clock === null) return Number.NaN;
    return this.#clockTime(clock.whole, clock.fraction, clock.resolution);
  }

  /** Nanoseconds since 1970 have more digits than a number keeps: they are counted from the first stamp. */
  #longStamp(field: string, format: NumberFormat): number {
    if (!/^\d{16,30}$/.test(field)) return parseStamp(field, format);
    const exact = BigInt(field);
    this.#longStart ??= exact;
    return Number(exact - this.#longStart);
  }

  /** Whole seconds are taken from the first stamp, so that microseconds of a dated stamp keep their digits. */
  #clockTime(whole: number, fraction: number, resolution: number): number {
    this.#clockStart ??= whole;
    this.clockResolution = Math.min(this.clockResolution, resolution);
    return whole - this.#clockStart + fraction;
  }

  /**
   * For the fast scanner: takes one line's numbers, already parsed, by the columns they belong to (−1: none).
   * A clock time comes as its whole seconds, its fraction apart.
   */
  taker(slotColumns: readonly number[]): (values: Float64Array, clock: ClockParts) => void {
    const present = this.#codes.filter((c) => slotColumns.includes(c.index));
    const codes = present.map((c) => slotColumns.indexOf(c.index));
    const lanes = present.map((c) =>
      this.plan.layout === "rows" ? this.#firsts[this.#codes.indexOf(c)]! : this.#lane(c.name),
    );
    const lists = lanes.map((lane) => lane.codes);
    const timed = this.plan.layout === "rows" ? [this.#shared] : lanes;
    const time = this.time === null ? -1 : slotColumns.indexOf(this.time.index);
    const sequence = this.sequence === null ? -1 : slotColumns.indexOf(this.sequence.index);
    const isClock = this.time?.facts.format.kind === "clock";
    const extra = this.#extra.map((c) => ({ name: c.name, slot: slotColumns.indexOf(c.index) }));
    const count = codes.length;
    return (values, clock) => {
      for (let k = 0; k < count; k++) lists[k]!.push(values[codes[k]!]!);
      for (const to of timed) {
        if (to.time !== null) {
          if (time < 0) to.time.push(Number.NaN);
          else if (isClock)
            to.time.push(this.#clockTime(values[time]!, clock.fraction, clock.digits === 0 ? 1 : 10 ** -clock.digits));
          else to.time.push(values[time]!);
        }
        if (to.sequence !== null) to.sequence.push(sequence < 0 ? Number.NaN : values[sequence]!);
        for (const { name, slot } of extra) to.columns.get(name)!.push(slot < 0 ? Number.NaN : values[slot]!);
      }
    };
  }

  /** The list of a log with a single channel and nothing beside it. */
  get soleList(): WordList | null {
    return this.#firsts.length === 1 && !this.#voltsOnly ? this.#firsts[0]!.codes : null;
  }

  /** Takes out readings that turned out to be none. @param rows  ascending */
  drop(rows: readonly number[]): void {
    const gone = new Set(rows);
    const keepers: { length: number; at(i: number): number; put(i: number, v: number): void; cut(n: number): void }[] =
      [];
    const words = (list: WordList): void => {
      keepers.push({
        length: list.length,
        at: (i) => list.words[i]!,
        put: (i, v) => {
          list.words[i] = v;
        },
        cut: (n) => {
          list.length = n;
        },
      });
    };
    const reals = (list: RealList | null | undefined): void => {
      if (list)
        keepers.push({
          length: list.length,
          at: (i) => list.values[i]!,
          put: (i, v) => {
            list.values[i] = v;
          },
          cut: (n) => {
            list.length = n;
          },
        });
    };
    for (const lane of this.#firsts) words(lane.codes);
    reals(this.#shared.time);
    reals(this.#shared.sequence);
    for (const list of this.#shared.columns.values()) reals(list);
    for (const list of keepers) {
      let kept = 0;
      for (let i = 0; i < list.length; i++) if (!gone.has(i)) list.put(kept++, list.at(i));
      list.cut(kept);
    }
  }
}

/** A stamp as a number in its own unit. */
function parseStamp(field: string, format: NumberFormat): number {
  if (format.kind === "clock" || format.base !== 10) return parseNumber(field, format);
  return parseReal(field, format);
}

function pairName(columns: readonly RoledColumn[]): string {
  const [a, b] = columns;
  return a?.named && b?.named ? `${a.name}:${b.name}` : "codes";
}

function tagName(tag: RoledColumn, value: string, column: string): string {
  const prefix = tag.facts.format.kind === "text" ? "" : `${tag.named ? tag.name.replace(/\W+$/, "") : "channel"} `;
  return `${prefix}${value}${column === "" ? "" : ` ${column}`}`;
}
