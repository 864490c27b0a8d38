import { METRIC_NAMES, type MetricName } from "../bench/metrics.ts";
import type { ResultCapture } from "../result.ts";
import type { CapturePair } from "./pairCaptures.ts";
import { brief } from "./phrase.ts";

/** Something that differs between two captures besides the converter, with the metrics that it touches. */
export interface Unlike {
  readonly text: string;
  readonly metrics: readonly MetricName[];
  /** The metrics are defined differently: a difference says nothing about the converter. Otherwise it says less than it seems. */
  readonly spoils: boolean;
}

const OF_LINE: readonly MetricName[] = ["offsetError", "gainError", "inlMax", "inlMin"];
const OF_TONE: readonly MetricName[] = ["enob", "enobAtLevel", "sinad", "snr", "thd", "sfdr", "noiseFloor"];
const OF_LEVEL: readonly MetricName[] = ["enobAtLevel", "sinad", "snr", "thd", "sfdr"];

/** Below this many LSB the spread of the codes no longer follows the noise; Sheppard's correction holds to 1 % from σ = 0.5 LSB, where the spread is 0.58. */
const HIDING = 0.6;

/** What makes two captures less than comparable: another line, tone, level, or record length for metrics that grow with it. */
export function unlikes({ first, second }: CapturePair): Unlike[] {
  const found: Unlike[] = [];
  const add = (text: string, metrics: readonly MetricName[], spoils = false): void => {
    const present = metrics.filter((m) => has(first, m) && has(second, m));
    if (present.length > 0) found.push({ text, metrics: present, spoils });
  };
  const [a, b] = [first.converter, second.converter];
  if (a.line !== b.line)
    add(`The straight line is ${a.line} in one and ${b.line} in the other; set converter.line alike.`, OF_LINE, true);
  if (apart(a.high - a.low, b.high - b.low, 1e-6) || apart(a.low, b.low, 1e-6))
    add(
      `The ranges differ (${brief(a.low, 4)} … ${brief(a.high, 4)} V, ${brief(b.low, 4)} … ${brief(b.high, 4)} V): bits and dB count against each one's own.`,
      [...OF_TONE, "effectiveResolution", "noiseFreeBits", "signalLevel"],
    );
  const frequency = [first, second].map((c) => numberIn(c.stimulus, "frequency") ?? c.fit?.frequency ?? null);
  if (apart(frequency[0], frequency[1], 0.02))
    add(
      `The tones differ (${brief(frequency[0]!, 4)} Hz, ${brief(frequency[1]!, 4)} Hz): distortion and noise follow the frequency.`,
      OF_TONE,
    );
  const amplitude = [first, second].map((c) => numberIn(c.stimulus, "amplitude") ?? c.fit?.amplitude ?? null);
  if (apart(amplitude[0], amplitude[1], 0.05))
    add(
      `The amplitudes differ (${brief(amplitude[0]!, 4)} V, ${brief(amplitude[1]!, 4)} V): ratios to the signal follow the level.`,
      OF_LEVEL,
    );
  if (apart(first.readings, second.readings, 0.1))
    add(
      `The records differ in length (${first.readings} and ${second.readings} readings): peak to peak grows with it.`,
      ["noisePeakToPeak"],
    );
  const [lsb1, lsb2] = [a.scale.lsb, b.scale.lsb];
  const spreads = [first, second].map((c) => c.metrics.codeRms?.value ?? null);
  if (apart(lsb1, lsb2, 1e-9) && spreads.some((s) => s !== null && s < HIDING))
    add(
      `The LSB differ and one spread is below ${HIDING} LSB: a wide code hides the noise, so that fewer flickering codes do not mean less of it; compare the rms noise.`,
      ["codeRms"],
      true,
    );
  for (const [i, capture] of [first, second].entries()) {
    const limited = capture.findings.find((f) => f.id === "source-limited" && f.severity === "warning");
    if (limited !== undefined)
      add(`The ${i === 0 ? "first" : "second"} is limited by its source: ${limited.text}`, [
        "enob",
        "enobAtLevel",
        "sinad",
        "snr",
        "thd",
        "sfdr",
      ]);
  }
  return found;
}

function has({ metrics }: ResultCapture, metric: MetricName): boolean {
  const figure = metrics[metric];
  return figure !== undefined && (figure.value !== null || figure.low !== null || figure.high !== null);
}

function apart(a: number | null | undefined, b: number | null | undefined, share: number): boolean {
  if (a === null || b === null || a === undefined || b === undefined) return false;
  return Math.abs(a - b) > share * Math.max(Math.abs(a), Math.abs(b));
}

function numberIn(stimulus: ResultCapture["stimulus"], key: string): number | null {
  const value = stimulus?.[key];
  return typeof value === "number" && Number.isFinite(value) ? value : null;
}

/** The metrics that either capture knows anything about, in the order reports list them. */
export function metricsOf({ first, second }: CapturePair): MetricName[] {
  return METRIC_NAMES.filter((m) => first.metrics[m] !== undefined || second.metrics[m] !== undefined);
}
