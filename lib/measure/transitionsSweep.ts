import type { SweepCourse } from "./transitionsMemory.ts";
import type { SweepNoise } from "./transitionsNoise.ts";
import type { SweepHalf } from "./transitionsPhases.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** A record laid out along its stimulus, ready for its transitions. */
export interface Sweep {
  readonly kind: "sine" | "ramp" | "triangle";
  readonly waveform: Waveform;
  /** The stimulus states the voltages; otherwise they are the fit's, and offset, gain and total error would measure nothing. */
  readonly stated: boolean;
  /** The source is known to run without delay against the log, so that a constant difference of both directions is the converter's. */
  readonly delayFree?: boolean;
  /** How the readings' inputs were found, for the method line. */
  readonly basis: string;
  readonly both: SweepHalf;
  /** Null where the record has only one direction. */
  readonly rising: SweepHalf | null;
  readonly falling: SweepHalf | null;
  readonly noise: SweepNoise;
  /** A single slow sweep's readings in order: their noise may remember from one to the next. */
  readonly course?: SweepCourse;
  /** Readings left out because their codes cannot belong to their place on the sweep. */
  readonly leftOut: number;
}

/** Why a record cannot be laid out. */
export interface NoSweep {
  readonly reason: string;
}
