/** One place where the log does not go on evenly. */
export interface LossEvent {
  /** First reading after it; for a repetition, the first repeated reading. */
  readonly at: number;
  readonly within: number;
  /** Readings missing before `at`; 0 for a repetition. */
  readonly missing: number;
  /** Other counts that the evidence allows just as well. */
  readonly alternatives: readonly number[];
  /** Readings that show earlier ones again, from `at` on. */
  readonly repeated: number;
  /** The repeated readings are one reading again and again. */
  readonly isFrozen?: true;
  /** Of a jump of a sine's phase: how far, rad, positive ahead. */
  readonly jump?: number;
  /** How it was seen, with figures. */
  readonly evidence: string;
}
