import type { Hertz } from "../bench/units.ts";
import type { Log } from "../capture/log.ts";

/** What can be said of a log with no bench file beside it. */
export interface Inspection {
  /** Rows that gave readings: a row of a table counts once, whatever channels it holds; tagged and interleaved readings count each. */
  readonly readings: number;
  readonly channels: readonly ChannelInspection[];
  readonly sampleRate: {
    readonly value: Hertz;
    readonly unit: "Hz";
    readonly basis: "timestamps" | "comment";
    readonly uncertainty: Hertz | null;
  } | null;
  /** Readings that the sequence numbers show to be missing; null without sequence numbers. */
  readonly missing: { readonly gaps: number; readonly readings: number } | null;
  readonly log: Log;
}

export interface ChannelInspection {
  readonly name: string;
  readonly readings: number;
  /** "codes", or "V" where the log holds volts only. */
  readonly unit: "codes" | "V";
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  /** Of the values, with n − 1; 0 for a single one. */
  readonly sd: number;
  /** Null where there are too many readings of too wide a range to count. */
  readonly distinct: number | null;
  readonly bits: SuggestedBits | null;
  readonly course: Course;
}

/** The converter that the codes suggest. */
export interface SuggestedBits {
  /** The usual width (8, 10, 12, 14, 16 …) that holds every code. */
  readonly bits: number;
  /** The fewest bits that hold every code. */
  readonly needed: number;
  readonly signed: boolean;
  /** Low bits that are never set although the codes vary: left-aligned, or summed without a shift. */
  readonly unusedLowBits: number;
  /** Bit 0 first: share of readings in which it is set, and of neighbours between which it changes. */
  readonly activity: readonly { readonly bit: number; readonly ones: number; readonly changes: number }[];
}

/** How the readings run. */
export interface Course {
  readonly kind: "sine" | "triangle" | "ramp" | "repeated ramp" | "steps" | "steady" | "unclear" | "too short";
  /** One sentence with figures. */
  readonly text: string;
  readonly cyclesPerReading: number | null;
  readonly frequency: Hertz | null;
  readonly amplitude: number | null;
  readonly offset: number | null;
  /** Steps: how many different levels. */
  readonly levels: number | null;
}
