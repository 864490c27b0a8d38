import type { RoledColumn } from "./columnRoles.ts";
import type { LineProgram } from "./lineProgram.ts";

/**
 * How a line (or a JSON record) is cut into fields. One row a reading; a line that holds several readings gives several rows, with its time stamp in the
 * first. A string instead of rows is the reason why the line gives no reading.
 */
export interface LineForm {
  rows(text: string): readonly (readonly string[])[] | string;
}

/** What the reader will do with every line of this log: worked out from its beginning, or forced. */
export interface ReadingPlan {
  readonly kind: "columns" | "terminal" | "json-lines" | "memory-dump";
  readonly form: LineForm;
  readonly columns: readonly RoledColumn[];
  /**
   * rows: every row holds every channel. ragged: each channel has its own readings (key = value pairs on lines of their own). tagged: one column
   * names the channel that the row's reading belongs to.
   */
  readonly layout: "rows" | "ragged" | "tagged";
  readonly bytePairs: "big-endian" | "little-endian" | null;
  readonly delimiter: string | null;
  readonly decimal: "." | ",";
  readonly header: readonly string[] | null;
  /** 1-based line of the header; 0 without one. */
  readonly headerLine: number;
  /** Lines up to this one are the log's preamble. */
  readonly dataLine: number;
  /** The first data line is the rear part of a cut one. */
  readonly firstLineCut: boolean;
  /** Several readings a line. */
  readonly perLine: boolean;
  readonly comment: RegExp;
  readonly remarks: readonly string[];
  /** Terminal text: plain lines as programs for the fast scanner. */
  readonly programs?: readonly LineProgram[];
  /** Lines of the sample that this plan reads, of those that hold anything. */
  readonly explained: number;
  readonly seen: number;
}

export const COMMENT = /^(?:#|%|\/\/|--(?!-)|;|\*|!|REM\b)/i;
/** Lines drawn to part a table: |---|---|, +-----+, ======. */
export const RULE = /^[\s|+:=*_.~-]{3,}$/;
