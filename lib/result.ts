import type { MetricName } from "./bench/metrics.ts";
import type { Budget, LimitRow, Verdict } from "./judge/figure.ts";
import type { Finding } from "./match/finding.ts";
import type { Harmonic } from "./measure/measurement.ts";

/** The JSON that score writes, "codestair-result/1" (DESIGN §5). compare, regress, trend and trim read it. Unknown keys are ignored on reading. */
export interface Result {
  readonly schema: "codestair-result/1";
  readonly tool: { readonly name: "codestair"; readonly version: string };
  /** When the page or file was written, ISO 8601; null where reproducible output was asked for. */
  readonly written: string | null;
  readonly bench: {
    readonly title: string;
    readonly conditions: Readonly<Record<string, string>>;
    readonly converter: ResultConverter;
    readonly decision: "guarded" | "simple";
    readonly allow: Readonly<Record<string, number>>;
  };
  readonly captures: readonly ResultCapture[];
  readonly unreadable: readonly {
    readonly name: string;
    readonly file: string | null;
    readonly problems: readonly string[];
  }[];
  readonly verdict: Verdict;
}

/** The converter in SI, as it was used. */
export interface ResultConverter {
  /** As declared. */
  readonly bits: number;
  readonly low: number;
  readonly high: number;
  readonly coding: string;
  readonly firstTransition: number;
  readonly line: "endpoint" | "best-fit";
  /** The logged codes' scale, firmware averaging included. */
  readonly scale: {
    readonly bits: number;
    readonly lsb: number;
    readonly firstTransition: number;
    readonly topCode: number;
  };
  readonly averaging: { readonly readings: number; readonly shift: number } | null;
  /** Seconds one reading takes by the timing bits; null when the bench has none. */
  readonly readingTime: number | null;
}

export interface ResultFigure {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly uncertainty: number | null;
  readonly unit: string;
  readonly method: string;
  readonly reason?: string;
  readonly budget?: Budget;
}

export interface ResultCapture {
  readonly name: string;
  readonly file: string | null;
  readonly sha256: string;
  readonly readings: number;
  readonly channel: string;
  readonly conditions: Readonly<Record<string, string>>;
  readonly converter: ResultConverter;
  readonly stimulus: Readonly<Record<string, unknown>> | null;
  readonly log: {
    readonly dialect: string;
    readonly lines: number;
    readonly skipped: readonly {
      readonly reason: string;
      readonly count: number;
      readonly examples: readonly string[];
    }[];
  };
  readonly sampleRate: {
    readonly value: number;
    readonly unit: "Hz";
    readonly basis: string;
    readonly uncertainty: number | null;
  } | null;
  /** Hz (cycles per reading where the rate is unknown: then frequencyUnit says so), V, V, rad, LSB. */
  readonly fit: {
    readonly frequency: number;
    readonly frequencyUnit: "Hz" | "cycles/reading";
    readonly amplitude: number;
    readonly offset: number;
    readonly phase: number;
    readonly residualRms: number;
    readonly uncertainty: {
      readonly frequency: number;
      readonly amplitude: number;
      readonly offset: number;
      readonly phase: number;
    };
  } | null;
  readonly metrics: Readonly<Partial<Record<MetricName, ResultFigure>>>;
  readonly findings: readonly Finding[];
  readonly harmonics: readonly Harmonic[];
  /**
   * Transitions, so that trim and plan can work from a result alone: parallel arrays, every code up to 14 bits, thinned to 16 384 points beyond;
   * null where a code was not tested. Volts; LSB.
   */
  readonly transitions: {
    readonly codes: readonly number[];
    readonly volts: readonly (number | null)[];
    readonly standard: readonly (number | null)[];
    readonly inl: readonly (number | null)[];
    readonly dnl: readonly (number | null)[];
  } | null;
  /** Mean code of each known level. */
  readonly steps:
    | readonly {
        readonly applied: number;
        readonly meanCode: number;
        readonly standard: number;
        readonly inl: number | null;
      }[]
    | null;
  /** The spectrum, thinned to the largest line of each group of bins, dBFS; for compare's overlay. */
  readonly spectrum?: {
    readonly frequencies: readonly number[];
    readonly levels: readonly number[];
    readonly unit: "Hz" | "cycles/reading";
  } | null;
  /** How often each code came at a steady input; for compare's overlay. */
  readonly codeCounts?: { readonly codes: readonly number[]; readonly counts: readonly number[] } | null;
}

export type ResultLimitRow = LimitRow;
