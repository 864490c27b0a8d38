import type { CaptureSpec, Converter, Stimulus } from "../../lib/bench/bench.ts";
import { describeRecord } from "../../lib/capture/describeRecord.ts";
import type { Log } from "../../lib/capture/log.ts";
import type { CaptureRecord } from "../../lib/capture/record.ts";
import { readFault } from "../../lib/simulate/faults.ts";
import { type SimulatedCapture, type SimulateOptions, simulateCapture } from "../../lib/simulate/simulateCapture.ts";

/** A 12-bit converter, 0…2.5 V, unless told otherwise. */
export function converter(changes: Partial<Converter> = {}): Converter {
  const low = changes.low ?? 0;
  const high = changes.high ?? 2.5;
  return {
    bits: 12,
    low,
    high,
    coding: "binary",
    align: "right",
    container: 16,
    firstTransition: 0.5,
    line: "endpoint",
    timing: null,
    input: { sourceResistance: null, switchResistance: null, sampleCapacitance: null },
    pin: { low: low - 0.3, high: high + 0.3, stated: false },
    reference: null,
    averaging: null,
    ...changes,
  };
}

export function spec(stimulus: Stimulus | null, changes: Partial<CaptureSpec> = {}): CaptureSpec {
  return {
    name: "capture",
    file: null,
    converter: converter(),
    frontEnd: null,
    stimulus,
    sampleRate: 50_000,
    use: null,
    conditions: {},
    reading: {},
    scan: null,
    ...changes,
  };
}

export const SOURCE = { frequency: 20e-6, amplitude: 0.002, offset: 0.002 };
export const LEVEL = { gain: 0.001, offset: 0.001, linearity: 5e-5, repeatability: 0 };

export function sine(frequency: number | null, amplitude: number | null = 1.2, offset: number | null = 1.25): Stimulus {
  return { kind: "sine", frequency, amplitude, offset, accuracy: SOURCE, purity: { thd: null, snr: null } };
}
export const ramp = (from = -0.01, to = 2.51): Stimulus => ({
  kind: "ramp",
  from,
  to,
  duration: null,
  accuracy: LEVEL,
});
export const steady = (voltage: number | null = 1.118): Stimulus => ({ kind: "steady", voltage, accuracy: LEVEL });

/** The log that a simulated capture's words make, with its time stamps and running numbers where asked for. */
export function logOf(
  capture: SimulatedCapture,
  shown: { time?: boolean; sequence?: boolean; resolution?: number } = {},
): Log {
  const channel = { name: "adc0", codes: capture.words };
  const gaps: { at: number; missing: number }[] = [];
  const { sequence, seconds } = capture;
  for (let n = 1; n < sequence.length; n++) {
    const missing = sequence[n]! - sequence[n - 1]! - 1;
    if (missing > 0) gaps.push({ at: n, missing });
  }
  const { resolution = 1e-7 } = shown;
  return {
    dialect: {
      kind: "columns",
      encoding: "utf-8",
      compressed: false,
      delimiter: ",",
      decimal: ".",
      header: ["adc0"],
      base: 10,
      sentence: "test",
      forced: [],
    },
    channels: capture.neighbourWords ? [channel, { name: "adc1", codes: capture.neighbourWords }] : [channel],
    time: shown.time
      ? {
          seconds: Float64Array.from(seconds, (t) => Math.round(t / resolution) * resolution),
          resolution,
          name: "t",
          unit: "s",
          rollovers: 0,
        }
      : null,
    sequence: shown.sequence ? { name: "seq", numbers: Float64Array.from(sequence), gaps } : null,
    columns: capture.applied ? new Map([["vin", capture.applied]]) : new Map(),
    lines: capture.words.length,
    bytes: capture.words.length * 5,
    skipped: [],
    remarks: [],
  };
}

/** Simulates a capture with faults such as "lost=3@2000", and describes it as the reader would. */
export function simulated(
  captureSpec: CaptureSpec,
  faults: readonly string[] = [],
  options: Omit<SimulateOptions, "faults"> & { time?: boolean; sequence?: boolean; resolution?: number } = {},
): { record: CaptureRecord; capture: SimulatedCapture } {
  const planted = faults.map((text) => {
    const fault = readFault(text);
    if (typeof fault === "string") throw new Error(fault);
    return fault;
  });
  const capture = simulateCapture(captureSpec, { ...options, faults: planted });
  const withChannel = capture.neighbourWords
    ? { ...captureSpec, reading: { ...captureSpec.reading, channel: "adc0" } }
    : captureSpec;
  return { record: describeRecord(withChannel, logOf(capture, options)), capture };
}
