import type { MetricName } from "../bench/metrics.ts";
import type { Decibels, Hertz, Lsb, Seconds, Volts } from "../bench/units.ts";
import type { Finding } from "../match/finding.ts";

/**
 * A metric as measured, before it is turned into a Figure by judge/expand.ts: the record's own interval, and apart from it what the source's stated
 * limits add. Keep the two apart: they are combined in one place, by convolution.
 */
export interface Estimate {
  /** null when the capture cannot support the metric; then `reason` says why and what would be needed. */
  readonly value: number | null;
  readonly unit: string;
  /** How it was got, in one line: estimator, settings, which codes. */
  readonly method: string;
  readonly reason?: string;
  /** About 95 % from this record alone (finite readings, noise, non-coherence, drift). A null end is unbounded; a bound without a value is allowed. */
  readonly low: number | null;
  readonly high: number | null;
  /** What the source's, front end's and reference's ± limits do to this metric, in its unit; rectangular. `timing` for the clock's share. */
  readonly limits: readonly { readonly from: string; readonly halfWidth: number }[];
  /** Named shares of the record's own standard uncertainty, in the metric's unit, for the budget: "noise", "drift", "few readings". */
  readonly shares?: readonly { readonly from: string; readonly standard: number }[];
  /** Which readings would be needed, where that is known: for a reason or an undecided limit. */
  readonly readingsNeeded?: (halfWidth: number) => number;
}

export type Estimates = Partial<Record<MetricName, Estimate>>;

/** Curves for plots and tables. Typed arrays hold NaN where nothing was tested; null appears only in JSON. */
export interface Curves {
  readonly transitions?: TransitionCurve;
  readonly histogram?: HistogramCurve;
  readonly spectrum?: SpectrumCurve;
  readonly steps?: StepCurve;
  readonly steady?: SteadyCurve;
  readonly fit?: FitCurve;
}

/** Element i belongs to transition T[firstTransition + i] (and code firstTransition + i for dnl). */
export interface TransitionCurve {
  /** k of element 0. */
  readonly first: number;
  readonly line: "endpoint" | "best-fit";
  readonly volts: Float64Array;
  /** Standard uncertainties from this record. */
  readonly voltsU: Float64Array;
  readonly inl: Float64Array;
  readonly inlU: Float64Array;
  /** Width error of the code between T[k] and T[k+1]; last element NaN. */
  readonly dnl: Float64Array;
  readonly dnlU: Float64Array;
  /** Both directions' transitions, where the stimulus has them: T_rising − T_falling, LSB. */
  readonly hysteresis?: Float64Array;
  /** Codes called missing, and codes that may be (record too short to tell). */
  readonly missing: readonly number[];
  readonly possiblyMissing: readonly number[];
}

export interface HistogramCurve {
  /** Counts of codes 0…topCode. */
  readonly counts: Float64Array;
  /** What an ideal converter would have counted with this stimulus; NaN where not exercised. */
  readonly expected: Float64Array;
}

export interface SpectrumCurve {
  /** dBFS per bin, one-sided, bin i at i·binWidth. */
  readonly level: Float64Array;
  readonly binWidth: Hertz;
  /** false: sample rate unknown, so frequencies are in cycles per reading. */
  readonly inHertz: boolean;
  readonly window: string;
  readonly segments: number;
  readonly fundamental: { readonly frequency: Hertz; readonly level: Decibels };
  readonly harmonics: readonly Harmonic[];
  /** Per bin of fs/M, whatever the curve's own bins are. */
  readonly noiseFloorPerBin: Decibels;
  /** Where the noise lies in the curve as drawn: per bin of the curve, the window's bandwidth counted. */
  readonly drawnFloor?: Decibels;
}

export interface Harmonic {
  readonly order: number;
  /** After folding. */
  readonly frequency: Hertz;
  /** dBc; null when not separable or below its own noise. */
  readonly level: Decibels | null;
  readonly low: Decibels | null;
  readonly high: Decibels | null;
  readonly note: "measured" | "below its noise" | "not separable" | "coincides with a lower harmonic";
}

export interface StepCurve {
  readonly points: readonly {
    readonly applied: Volts;
    readonly meanCode: number;
    readonly standard: Lsb;
    readonly readings: number;
    /** Left out after the change of level. */
    readonly settling: number;
    readonly inl: Lsb | null;
    readonly direction: "up" | "down";
    readonly note: string | null;
  }[];
}

export interface SteadyCurve {
  readonly counts: readonly { readonly code: number; readonly count: number }[];
  /** Means of consecutive blocks, for the course over time. */
  readonly blocks: { readonly readingsEach: number; readonly mean: Float64Array; readonly standard: Float64Array };
  readonly driftPerReading: Lsb | null;
}

export interface FitCurve {
  /** Cycles per reading. */
  readonly cyclesPerReading: number;
  /** In codes (LSB), at reading 0. */
  readonly amplitude: Lsb;
  readonly offset: Lsb;
  readonly phase: number;
  readonly readingPeriod: Seconds | null;
}

/** What one measure adds to a capture's score. */
export interface Measurement {
  readonly estimates: Estimates;
  readonly curves: Curves;
  readonly findings: readonly Finding[];
}
