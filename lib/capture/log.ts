import type { Hertz, Seconds } from "../bench/units.ts";

/** What a log says, before any converter or stimulus is considered: the output of the reader. */
export interface Log {
  readonly dialect: Dialect;
  /** At least one; every channel of one log has the same number of readings unless `interleave` or tags split it. */
  readonly channels: readonly LogChannel[];
  readonly time: TimeStamps | null;
  readonly sequence: SequenceNumbers | null;
  /** Columns of numbers beside the codes, one value a reading, NaN where it could not be read: steps' applied voltage, or the words of channels that were not asked for. */
  readonly columns: ReadonlyMap<string, Float64Array>;
  /** Lines (or records, where the dialect has no lines) in the log. */
  readonly lines: number;
  readonly bytes: number;
  /** Every line that gave no reading, by reason. */
  readonly skipped: readonly Skipped[];
  /** Things the reader saw that a person should know: a reset in the middle, a forced option that contradicts the log. */
  readonly remarks: readonly string[];
  /** Volts per unit of `volts`: 0.001 where the log's voltages are in millivolts. 1 when absent. */
  readonly voltScale?: number;
  /** Channels have readings of their own (tags, key = value lines, a scan sequence), not one each in every row. */
  readonly separateChannels?: boolean;
  /** A sampling rate that a comment of the log states. */
  readonly statedRate?: Hertz;
}

export interface LogChannel {
  readonly name: string;
  /** The logged words as whole numbers, before the converter's coding and alignment are undone. 32-bit words above 2^31−1 come as their signed value. */
  readonly codes: Int32Array;
  /** Volts as logged, where the log holds no codes; `codes` is empty then. */
  readonly volts?: Float64Array;
  /** Of this channel's own readings, where channels do not share the log's (tagged, ragged, interleaved). */
  readonly time?: TimeStamps | null;
  readonly sequence?: SequenceNumbers | null;
  /** 1-based column of the log that the codes stood in, where the log is a table. */
  readonly column?: number;
}

export interface Dialect {
  readonly kind: "columns" | "terminal" | "json-lines" | "memory-dump";
  readonly encoding: string;
  readonly compressed: boolean;
  readonly delimiter: string | null;
  readonly decimal: "." | ",";
  readonly header: readonly string[] | null;
  readonly base: 2 | 8 | 10 | 16;
  /** One line that a person can check against the log. */
  readonly sentence: string;
  /** Which of the above were forced rather than worked out. */
  readonly forced: readonly string[];
}

export interface Skipped {
  readonly reason: string;
  readonly count: number;
  /** The first few, cut to a readable length, each with its line number. */
  readonly examples: readonly { readonly line: number; readonly text: string }[];
}

export interface TimeStamps {
  /** Seconds since the first stamp, unrolled where a counter rolled over; one a reading. NaN where a line had none. */
  readonly seconds: Float64Array;
  /** Smallest step the stamps can show. */
  readonly resolution: Seconds;
  readonly name: string;
  readonly unit: string;
  readonly rollovers: number;
}

export interface SequenceNumbers {
  readonly name: string;
  readonly numbers: Float64Array;
  /** Readings missing before index `at`. */
  readonly gaps: readonly { readonly at: number; readonly missing: number }[];
}
