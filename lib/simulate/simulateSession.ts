import type { Bench, CaptureSpec } from "../bench/bench.ts";
import { atPin } from "../bench/pinStimulus.ts";
import type { Volts } from "../bench/units.ts";
import type { PlantedFault } from "./faults.ts";
import { type SimulatedCapture, simulateCapture } from "./simulateCapture.ts";
import { truthRecord } from "./truthRecord.ts";
import { DIALECTS, type DialectName, logContent, writeLog } from "./writeLog.ts";

export interface SessionOptions {
  readonly seed: number;
  /** For all captures, or by capture name; null where the stimulus decides. */
  readonly readings: number | null | Readonly<Record<string, number>>;
  readonly dialect: DialectName | null;
  /** Faults with the capture they belong to; null: all captures. */
  readonly faults: readonly { readonly capture: string | null; readonly fault: PlantedFault }[];
}

/** One log of a simulated session. */
export interface SimulatedLog {
  /** As the bench file names it, or the capture's name with an ending that suits the dialect. */
  readonly file: string;
  readonly dialect: DialectName;
  readonly captures: readonly SimulatedCapture[];
  readonly text: string;
}

export interface SimulatedSession {
  readonly logs: readonly SimulatedLog[];
  readonly truth: Record<string, unknown>;
}

/**
 * Simulates every capture of a bench file: one converter for the whole session, one log for captures that name the same file.
 * The same seed gives the same bytes on every machine.
 * @throws RangeError  a capture has no stimulus
 */
export function simulateSession(bench: Bench, options: SessionOptions): SimulatedSession {
  const { seed, readings, faults } = options;
  const simulated = bench.captures.map((spec, index) =>
    simulateCapture(spec, {
      readings: typeof readings === "object" && readings !== null ? (readings[spec.name] ?? null) : readings,
      seed: seed * 1009 + index,
      converterSeed: seed,
      faults: faults.filter((f) => f.capture === null || f.capture === spec.name).map((f) => f.fault),
      neighbour: neighbourLevel(bench, spec),
    }),
  );
  const groups = new Map<string, SimulatedCapture[]>();
  for (const capture of simulated) {
    const dialect = options.dialect ?? dialectFor(capture.spec);
    const file = capture.spec.file ?? `${capture.spec.name}.${DIALECTS[dialect].extension}`;
    groups.set(file, [...(groups.get(file) ?? []), capture]);
  }
  const logs = [...groups].map(([file, captures], index): SimulatedLog => {
    const dialect = options.dialect ?? dialectFor(captures[0]!.spec);
    return { file, dialect, captures, text: writeLog(logContent(captures, seed * 2003 + index), dialect) };
  });
  return { logs, truth: truthRecord(simulated, seed) };
}

/** A dialect that the bench file's own reading keys fit. */
function dialectFor(spec: CaptureSpec): DialectName {
  const { time, sequence, base } = spec.reading;
  if (sequence !== undefined) return "tsv-sequence";
  if (base === 16) return "hex-bare";
  if (base === 2) return "binary";
  if (time !== undefined) return "csv-time";
  return /\.(log|txt)(\.gz)?$/i.test(spec.file ?? "") ? "terminal" : "csv";
}

/** The level that the multiplexer comes from: a steady capture on another input of the same scan. */
function neighbourLevel(bench: Bench, spec: CaptureSpec): Volts | undefined {
  if (spec.scan === null) return undefined;
  for (const other of bench.captures)
    if (other !== spec && other.stimulus?.kind === "steady" && other.stimulus.voltage !== null)
      return atPin(other, other.stimulus.voltage);
  return undefined;
}
