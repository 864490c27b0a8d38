import type { Radians } from "../bench/units.ts";

/**
 * A sine fitted to readings: y[n] = offset + amplitude·cos(2π·cyclesPerReading·n + phase), n counted from the record's reading 0
 * even where only a stretch of it was fitted.
 */
export interface SineFit {
  readonly cyclesPerReading: number;
  /** ≥ 0, in the unit of the readings (codes). */
  readonly amplitude: number;
  readonly offset: number;
  /** In (−π, π]. */
  readonly phase: Radians;
  /** Residual sum of squares. */
  readonly rss: number;
  /** √(RSS/(M − p)). */
  readonly residualRms: number;
  readonly readings: number;
  /** Parameters fitted: 3 (frequency known) or 4. */
  readonly parameters: 3 | 4;
  /** Standard uncertainties from the residual, white noise assumed. */
  readonly standard: {
    readonly cyclesPerReading: number;
    readonly amplitude: number;
    readonly offset: number;
    readonly phase: Radians;
  };
}
