import type { CaptureSpec } from "../bench/bench.ts";
import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Scale } from "../bench/scale.ts";
import type { Log } from "./log.ts";

/** Readings first…last, both included, counted from 0. */
export type Stretch = readonly [first: number, last: number];

/** One channel of a log, decoded by its converter: what every later stage works on. */
export interface CaptureRecord {
  readonly spec: CaptureSpec;
  readonly log: Log;
  readonly channel: string;
  /**
   * Plain codes: two's complement and offset binary undone, alignment undone. They are never repaired: a value outside
   * 0…scale.topCode stays as it is, and a finding says so.
   */
  readonly codes: Int32Array;
  readonly scale: Scale;
  /** What the source applies, referred to the pin; null when the bench does not say. */
  readonly stimulus: PinStimulus | null;
  /** Steps given as a column: the applied voltage at the pin, one a reading. */
  readonly appliedVolts: Float64Array | null;
}
