import type { MetricName } from "./metrics.ts";
import type { Farads, Hertz, Lsb, Ohms, Ratio, Seconds, Volts } from "./units.ts";

/** The bench file after reading: every quantity in SI, every default filled in. The file's own schema is in schema.ts. */
export interface Bench {
  readonly title: string;
  /** The bench file's name as given, for messages; null for one built in code. */
  readonly file: string | null;
  /** Free keys, carried to results and trends. */
  readonly conditions: Readonly<Record<string, string>>;
  readonly captures: readonly CaptureSpec[];
  readonly limits: readonly Limit[];
  readonly decision: "guarded" | "simple";
  /** The bench-wide converter, before any capture's overrides; what `plan` works from. */
  readonly converter: Converter;
  readonly frontEnd: FrontEnd | null;
  readonly generator: Generator;
  readonly serial: SerialLink | null;
  /** regress: how much worse a metric may become, in its own unit, before it counts. */
  readonly allow: Readonly<Partial<Record<LimitMetric, number>>>;
}

export type LimitMetric = MetricName | "inl" | "dnl";

export interface Limit {
  readonly metric: LimitMetric;
  readonly min: number | null;
  readonly max: number | null;
  readonly capture: string | null;
  readonly channel: string | null;
}

export interface Converter {
  /** As declared, before averaging; the logged codes' scale is scaleOf(converter). */
  readonly bits: number;
  readonly low: Volts;
  /** The upper end as it really is: reference.measured where the bench file has it. */
  readonly high: Volts;
  readonly coding: "binary" | "offset-binary" | "twos-complement";
  readonly align: "right" | "left";
  /** Bits of the word that a left-aligned code sits on top of. */
  readonly container: number;
  readonly firstTransition: Lsb;
  readonly line: "endpoint" | "best-fit";
  readonly timing: Timing | null;
  readonly input: InputCircuit;
  readonly pin: { readonly low: Volts; readonly high: Volts; readonly stated: boolean };
  readonly reference: {
    readonly nominal: Volts;
    readonly measured: Volts | null;
    readonly accuracy: Volts;
    readonly ratiometric: boolean;
  } | null;
  readonly averaging: { readonly readings: number; readonly shift: number } | null;
}

/** The timing of one reading, in clocks of the converter. */
export interface Timing {
  readonly clock: Hertz;
  readonly sampleCycles: number;
  readonly conversionCycles: number;
  readonly overheadCycles: number;
}

export interface InputCircuit {
  readonly sourceResistance: Ohms | null;
  readonly switchResistance: Ohms | null;
  readonly sampleCapacitance: Farads | null;
  /** Scatter of the sampling instant, one standard deviation. */
  readonly apertureJitter?: Seconds | null;
}

/** Divider or buffer between source and pin: V(pin) = gain·V(source) + offset; accuracy is ± a relative limit on gain. */
export interface FrontEnd {
  readonly gain: number;
  readonly offset: Volts;
  readonly accuracy: Ratio;
}

/** What the generator can be set to. */
export interface Generator {
  readonly step: Hertz | null;
}

export interface SerialLink {
  readonly baud: number;
  readonly bytesPerLine: number | null;
  readonly bitsPerByte: number;
}

export type Use = "tone" | "histogram" | "noise";

/** One capture of the session, with everything that applies to it already resolved. */
export interface CaptureSpec {
  readonly name: string;
  /** As written in the bench file; the command resolves it against the bench file's folder. Null in a bench file meant for `plan` or `simulate`. */
  readonly file: string | null;
  readonly converter: Converter;
  readonly frontEnd: FrontEnd | null;
  readonly stimulus: Stimulus | null;
  readonly sampleRate: Hertz | null;
  /** null: all that the record supports. */
  readonly use: readonly Use[] | null;
  readonly conditions: Readonly<Record<string, string>>;
  /** How to read the log; every key forces an inference. */
  readonly reading: ReadingHints;
  /** Readings to take, for plan and simulate; the log's own number counts everywhere else. */
  readonly readings?: number | null;
  /** A scan sequence: the input multiplexer's order and how often it stays on one input. */
  readonly scan: { readonly order: readonly string[]; readonly readingsPerVisit: number } | null;
}

export interface ReadingHints {
  /** A column's header, a channel tag or a 1-based column number. */
  readonly channel?: string | number;
  readonly time?: string | number;
  readonly timeUnit?: "s" | "ms" | "us" | "ns" | "clock" | "ticks";
  /** Tick frequency when timeUnit is "ticks". */
  readonly tickRate?: Hertz;
  readonly base?: 2 | 8 | 10 | 16;
  readonly delimiter?: string;
  readonly decimal?: "." | ",";
  readonly header?: boolean;
  readonly encoding?: "utf-8" | "utf-16le" | "utf-16be" | "latin1";
  readonly sequence?: string | number;
  readonly interleave?: readonly string[];
  /** Byte pairs printed as bytes. */
  readonly bytes?: "big-endian" | "little-endian";
  /** Convert a log of volts to codes by the converter's scale; only on request. */
  readonly fromVolts?: boolean;
  /** A column of numbers wanted beside the codes (steps: the applied voltage). */
  readonly stimulusColumn?: string | number;
}

/** ± limits of the source, as stated by its maker or its calibration; rectangular. */
export interface SineAccuracy {
  readonly frequency: Ratio;
  /** Relative to the amplitude. */
  readonly amplitude: Ratio;
  readonly offset: Volts;
}
export interface LevelAccuracy {
  readonly gain: Ratio;
  readonly offset: Volts;
  /** Relative to the span of the stimulus. */
  readonly linearity: Ratio;
  /** ± a fresh error each time a level is set. */
  readonly repeatability: Volts;
}

/** What the source applies, at the source (before frontEnd). A null quantity was not stated. */
export type Stimulus = SineStimulus | RampStimulus | TriangleStimulus | SteadyStimulus | StepsStimulus;
export interface SineStimulus {
  readonly kind: "sine";
  readonly frequency: Hertz | null;
  readonly amplitude: Volts | null;
  readonly offset: Volts | null;
  readonly accuracy: SineAccuracy;
  /** The source's own distortion and noise: thd negative dBc, snr positive dB. */
  readonly purity: { readonly thd: number | null; readonly snr: number | null };
}
export interface RampStimulus {
  readonly kind: "ramp";
  readonly from: Volts;
  readonly to: Volts;
  readonly duration: Seconds | null;
  readonly accuracy: LevelAccuracy;
}
export interface TriangleStimulus {
  readonly kind: "triangle";
  readonly low: Volts;
  readonly high: Volts;
  readonly frequency: Hertz | null;
  readonly accuracy: LevelAccuracy;
}
export interface SteadyStimulus {
  readonly kind: "steady";
  readonly voltage: Volts | null;
  readonly accuracy: LevelAccuracy;
}
export interface StepsStimulus {
  readonly kind: "steps";
  /** A column of the log that holds the applied voltage, or null when levels are listed. */
  readonly column: string | number | null;
  readonly levels: readonly { readonly voltage: Volts; readonly readings: number }[] | null;
  readonly direction: "up" | "down" | "both";
  readonly accuracy: LevelAccuracy;
}
