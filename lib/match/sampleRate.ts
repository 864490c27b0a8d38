import type { CaptureSpec, Timing } from "../bench/bench.ts";
import type { Hertz, Ratio } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import type { SampleRate } from "./matched.ts";
import { type StampedRate, timeStampRate } from "./timeStampRate.ts";

/**
 * What two clocks that nobody stated a limit for may differ by before it counts as a disagreement: two crystals of ±100 ppm.
 * Common practice; an RC oscillator is much worse, and then the disagreement is worth saying.
 */
export const CLOCK_ALLOWANCE: Ratio = 200e-6;

/** Everything that says something about the rate, kept for the findings. */
export interface RateEvidence {
  readonly stated: Hertz | null;
  readonly stamped: StampedRate | null;
  /** The fastest the timing bits allow, overhead as stated in the bench. */
  readonly timing: Hertz | null;
  /** Stimulus frequency over fitted cycles per reading, on the branch (alias) that the other bases point to. */
  readonly stimulus: { readonly rate: Hertz; readonly limit: Ratio; readonly aliased: boolean } | null;
}

/** Readings per second by the converter's own timing. */
export function timingRate(timing: Timing): Hertz {
  return timing.clock / (timing.sampleCycles + timing.conversionCycles + timing.overheadCycles);
}

/** Conversions behind one logged reading of a channel: what the firmware sums, and the channels that take turns. */
export function conversionsPerReading({ converter, scan, reading }: CaptureSpec): number {
  return (converter.averaging?.readings ?? 1) * (scan?.order.length ?? reading.interleave?.length ?? 1);
}

export function rateEvidence(record: CaptureRecord, fit: SineFit | null): RateEvidence {
  const { spec, log, stimulus } = record;
  const stated = spec.sampleRate;
  const stamped = log.time === null ? null : timeStampRate(log.time);
  const timing =
    spec.converter.timing === null ? null : timingRate(spec.converter.timing) / conversionsPerReading(spec);
  const frequency = stimulus?.kind === "sine" ? stimulus.frequency : null;
  const accuracy = stimulus?.kind === "sine" ? stimulus.accuracy.frequency : 0;
  const fitted =
    fit === null || frequency === null
      ? null
      : rateByStimulus(frequency, accuracy, fit, stated ?? stamped?.rate ?? null, timing);
  return { stated, stamped, timing, stimulus: fitted };
}

/**
 * The rate that puts the stimulus where the fit found it. A tone at c cycles per reading is f = (k ± c)·fs for some whole k: the branch nearest to the
 * known rate is taken; with timing bits alone the fastest rate that they allow; with nothing, the unaliased one.
 */
function rateByStimulus(
  frequency: Hertz,
  accuracy: Ratio,
  fit: SineFit,
  known: Hertz | null,
  timing: Hertz | null,
): { rate: Hertz; limit: Ratio; aliased: boolean } | null {
  const c = fit.cyclesPerReading;
  if (!(c > 0)) return null;
  const branches: number[] = [c];
  for (let k = 1; k <= 1000; k++) branches.push(k - c, k + c);
  let cycles = c;
  if (known !== null) {
    const miss = (b: number): number => Math.abs(Math.log(frequency / b / known));
    for (const b of branches) if (miss(b) < miss(cycles) - 1e-12) cycles = b;
  } else if (timing !== null) {
    // Sorted by falling rate: the first that the converter can reach, with 3 % for its clock.
    const reachable = branches.find((b) => frequency / b <= 1.03 * timing);
    if (reachable !== undefined) cycles = reachable;
  }
  const scatter = (1.96 * fit.standard.cyclesPerReading) / cycles;
  return { rate: frequency / cycles, limit: accuracy + scatter, aliased: cycles !== c };
}

/**
 * The capture's sample rate by the best basis there is: stated, else the log's time stamps, else the converter's timing bits where nothing
 * contradicts them, else the stimulus frequency over the fitted cycles per reading. The others become remarks, and so does what the loop costs.
 * @returns null when there is none
 */
export function sampleRate(spec: CaptureSpec, evidence: RateEvidence): SampleRate | null {
  const { stated, stamped, timing, stimulus } = evidence;
  const chosen = choose(evidence);
  if (chosen === null) return null;
  const remarks: string[] = [];
  const against = (what: string, rate: Hertz, limit: Ratio): void => {
    const apart = rate / chosen.value - 1;
    const known = limit + (chosen.uncertainty ?? 0) / chosen.value;
    const same = Math.abs(apart) < 5e-7 || Math.abs(apart) <= known;
    remarks.push(
      `${what} ${hertz(rate)}${limit > 5e-7 ? ` ± ${share(limit)}` : ""}, ${same ? "the same" : relative(apart)}`,
    );
  };
  if (stated !== null && chosen.basis !== "stated") against("the bench file states", stated, 0);
  if (stamped !== null && chosen.basis !== "timestamps") against("the time stamps give", stamped.rate, stamped.limit);
  if (stimulus !== null && chosen.basis !== "stimulus")
    against(
      `the stimulus frequency over the fitted cycles per reading${stimulus.aliased ? " (aliased)" : ""} gives`,
      stimulus.rate,
      stimulus.limit,
    );
  if (timing !== null && spec.converter.timing !== null) {
    if (chosen.basis === "timing")
      remarks.push("by the converter's timing bits alone; any time the loop adds would make it slower");
    else remarks.push(loopCost(spec.converter.timing, chosen.value * conversionsPerReading(spec)));
  }
  return { ...chosen, remarks };
}

function choose({ stated, stamped, timing, stimulus }: RateEvidence): Omit<SampleRate, "remarks"> | null {
  if (stated !== null) return { value: stated, basis: "stated", uncertainty: null };
  if (stamped !== null) return { value: stamped.rate, basis: "timestamps", uncertainty: stamped.rate * stamped.limit };
  const byStimulus =
    stimulus === null
      ? null
      : ({ value: stimulus.rate, basis: "stimulus", uncertainty: stimulus.rate * stimulus.limit } as const);
  if (timing === null) return byStimulus;
  // The bits say how fast one conversion is, not how long the loop takes: a known tone that shows a slower loop is the better witness.
  const slower = stimulus !== null && stimulus.rate < timing * (1 - Math.max(0.02, stimulus.limit));
  return slower ? byStimulus : { value: timing, basis: "timing", uncertainty: null };
}

/** Relative limit of the rate, for metrics per second or per hertz. */
export function rateLimit(rate: SampleRate | null): Ratio {
  return rate === null || rate.uncertainty === null ? 0 : rate.uncertainty / rate.value;
}

/**
 * What each reading costs in converter clocks.
 * @example loopCost({ clock: 4e6, sampleCycles: 24, conversionCycles: 15, overheadCycles: 0 }, 4e6 / 57.3)
 * // "each reading takes 57.3 ADC clocks; sampling and conversion are 39, so 18.3 are overhead"
 */
export function loopCost(timing: Timing, rate: Hertz): string {
  const clocks = timing.clock / rate;
  const busy = timing.sampleCycles + timing.conversionCycles;
  const takes = `each reading takes ${number(clocks)} ADC clocks; sampling and conversion are ${number(busy)}`;
  const overhead = clocks - busy;
  if (Math.abs(overhead) < 0.005 * busy) return `${takes}, so the loop adds nothing`;
  if (overhead < 0)
    return `${takes}, which is longer than a reading takes: clock, timing bits or rate are not as stated`;
  const stated = timing.overheadCycles > 0 ? ` (the bench file says ${number(timing.overheadCycles)})` : "";
  return `${takes}, so ${number(overhead)} are overhead${stated}`;
}

const number = (x: number): string => (Math.abs(x - Math.round(x)) < 0.005 ? `${Math.round(x)}` : x.toFixed(1));
const share = (size: Ratio): string =>
  size >= 0.001 ? `${Number((100 * size).toPrecision(2))} %` : `${Number((1e6 * size).toPrecision(2))} ppm`;
const relative = (x: Ratio): string => `${share(Math.abs(x))} ${x > 0 ? "faster" : "slower"}`;
const hertz = (f: number): string =>
  f >= 1e6
    ? `${+(f / 1e6).toPrecision(7)} MHz`
    : f >= 1e3
      ? `${+(f / 1e3).toPrecision(7)} kHz`
      : `${+f.toPrecision(7)} Hz`;

/** Cycles per reading where a stimulus of this frequency must appear. */
export function expectedCycles(frequency: Hertz, rate: Hertz): number {
  return foldedFrequency(frequency / rate);
}

/** Where the tone is stated to be, cycles per reading. */
export function statedCycles({ stimulus, spec }: CaptureRecord): number | null {
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null) return null;
  return expectedCycles(stimulus.frequency, spec.sampleRate);
}
