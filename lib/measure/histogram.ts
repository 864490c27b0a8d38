import type { MetricName } from "../bench/metrics.ts";
import { METRICS } from "../bench/metrics.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { Finding } from "../match/finding.ts";
import type { MatchedRecord } from "../match/matched.ts";
import type { Random } from "../signal/random.ts";
import { staticEstimates } from "./histogramEstimates.ts";
import { hysteresisEstimate } from "./histogramHysteresis.ts";
import { allowForSkips } from "./histogramSkips.ts";
import { directionDifference } from "./hysteresis.ts";
import type { Estimate, Estimates, HistogramCurve, Measurement } from "./measurement.ts";
import { locateTransitions, type Transitions, withNoiseTimes } from "./transitions.ts";
import type { PositionGrid } from "./transitionsGrid.ts";
import { sweepMemory } from "./transitionsMemory.ts";
import { rampSweep } from "./transitionsRamp.ts";
import { sineSweep } from "./transitionsSine.ts";
import type { NoSweep, Sweep } from "./transitionsSweep.ts";
import { triangleSweep } from "./transitionsTriangle.ts";

/** The metrics of a code histogram. */
const NAMES = [
  "offsetError",
  "offsetAtLow",
  "gainError",
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "missingCodes",
  "totalUnadjustedError",
] as const satisfies readonly MetricName[];

/** More codes than this would need billions of readings for a histogram. */
const MOST_CODES = 1 << 20;

/** Hysteresis is smooth: both directions are looked at in at most about this many transitions. */
const DIRECTION_POINTS = 2048;

/** The line is claimed when the transitions reached span this share of all. */
const CLAIMED_SPAN = 0.95;

/**
 * Static figures from a sine, ramp or triangle record: where the record's readings lie on the stimulus, how many came below each code, and so each
 * transition level with its uncertainty; from these the line, DNL, INL and their extremes.
 * @param random  for the draws behind the extremes' intervals
 * @returns every metric of a histogram; those that this record cannot support are null with a reason that carries figures
 * Source: IEEE Std 1241-2010 (histogram tests); METHODS 1, 3, 5.
 */
export function measureHistogram(record: MatchedRecord, random: Random): Measurement {
  const { scale, stimulus, codes } = record;
  const periodic = stimulus?.kind === "sine" || stimulus?.kind === "triangle";
  const names: readonly MetricName[] = periodic ? [...NAMES, "hysteresis"] : NAMES;
  if (scale.topCode > MOST_CODES)
    return nothing(
      names,
      `${scale.bits.toFixed(0)} bits: a histogram would need billions of readings; this record has ${codes.length}`,
    );
  if (scale.topCode < 3) return nothing(names, `a converter with ${scale.topCode + 1} codes has no line to measure`);
  const sweep = layOut(record);
  if ("reason" in sweep) return nothing(names, sweep.reason);
  let transitions = locateTransitions(sweep.both, sweep.waveform, sweep.noise);
  const curve = histogramCurve(record, sweep);
  const findings: Finding[] = [];
  const { length } = transitions?.inputs ?? [];
  if (transitions !== null && !(transitions.inputs[length - 1]! > transitions.inputs[0]!))
    return {
      ...nothing(names, "the codes do not rise with the input, so that there is no line to measure"),
      curves: { histogram: curve },
    };
  if (transitions === null) {
    const finding = notExercised(record, 0, 0, names);
    return { ...nothing(names, finding.text), curves: { histogram: curve }, findings: [finding] };
  }
  const memory = sweep.course === undefined ? null : sweepMemory(sweep.course, transitions);
  if (memory !== null) {
    // Readings in order understate a noise that changes slowly.
    const again = locateTransitions(sweep.both, sweep.waveform, { ...sweep.noise, sigma: memory.sigma });
    transitions = withNoiseTimes(again ?? transitions, Math.sqrt(memory.factor));
  }
  const step = Math.max(1, Math.floor(scale.topCode / DIRECTION_POINTS));
  const rising = sweep.rising && locateTransitions(sweep.rising, sweep.waveform, sweep.noise, step);
  const falling = sweep.falling && locateTransitions(sweep.falling, sweep.waveform, sweep.noise, step);
  const directions = rising && falling ? directionDifference(rising, falling, sweep.waveform, sweep) : null;
  // Both directions measure the same converter: where they scatter by more than their uncertainties say, the noise is more than white.
  const factor = directions?.noiseFactor ?? 1;
  if (factor > 1) transitions = withNoiseTimes(transitions, factor);

  const estimates: Estimates = {};
  const made = staticEstimates(record, sweep, transitions, random);
  Object.assign(estimates, made.estimates);
  if (directions !== null) estimates.hysteresis = hysteresisEstimate(directions, sweep, factor, scale.bits, random);
  else if (periodic) estimates.hysteresis = none("hysteresis", "too few transitions were reached in both directions");

  if (sweep.kind === "ramp") Object.assign(estimates, allowForSkips(record, estimates));
  const few = fewPhases(sweep.both.grid, transitions, scale.topCode);
  if (few !== null) {
    findings.push(few);
    nullAll(estimates, few.nulls, few.text);
  }
  const reached = transitions.inputs.length - 1;
  if (reached < CLAIMED_SPAN * (scale.topCode - 1)) {
    const last = transitions.first + reached;
    // T[1] alone gives the offset at the bottom of the range.
    const spoilt = names.filter((n) => n !== "offsetAtLow" || transitions.first > 1);
    const finding = notExercised(record, transitions.first, last, spoilt);
    findings.push(finding);
    nullAll(estimates, spoilt, finding.text);
  }
  return { estimates, curves: { transitions: withHysteresis(made.curve, directions), histogram: curve }, findings };
}

function layOut(record: MatchedRecord): Sweep | NoSweep {
  switch (record.stimulus?.kind) {
    case "sine":
      return sineSweep(record);
    case "ramp":
      return rampSweep(record);
    case "triangle":
      return triangleSweep(record);
    default:
      return { reason: "a histogram needs a sine, a ramp or a triangle" };
  }
}

function none(name: MetricName, reason: string): Estimate {
  return { value: null, unit: METRICS[name].unit, method: "code histogram", reason, low: null, high: null, limits: [] };
}

function nothing(names: readonly MetricName[], reason: string): Measurement {
  return { estimates: Object.fromEntries(names.map((n) => [n, none(n, reason)])), curves: {}, findings: [] };
}

function nullAll(estimates: Estimates, names: readonly MetricName[], reason: string): void {
  for (const name of names) {
    const had = estimates[name];
    if (had !== undefined)
      estimates[name] = { ...none(name, had.value === null ? (had.reason ?? reason) : reason), method: had.method };
  }
}

function withHysteresis(
  curve: ReturnType<typeof staticEstimates>["curve"],
  directions: ReturnType<typeof directionDifference>,
): ReturnType<typeof staticEstimates>["curve"] {
  if (directions === null) return curve;
  const hysteresis = new Float64Array(curve.volts.length).fill(Number.NaN);
  directions.difference.forEach((d, i) => {
    const at = directions.first + i * directions.step - curve.first;
    if (at >= 0 && at < hysteresis.length) hysteresis[at] = d;
  });
  return { ...curve, hysteresis };
}

function notExercised(record: MatchedRecord, first: number, last: number, nulls: readonly MetricName[]): Finding {
  const { topCode } = record.scale;
  const share = Math.max(0, (100 * (last - first)) / (topCode - 1));
  const reached =
    last > first
      ? `only transitions T[${first}] to T[${last}] of ${topCode} were reached (${share.toFixed(1)} % of the range)`
      : "no two transitions were reached";
  return {
    id: "range-not-exercised",
    // A tone that serves both uses is rightly a little smaller than the range.
    severity: record.stimulus?.kind === "sine" && record.spec.use === null ? "note" : "warning",
    text: `The readings cover too little of the range for the converter's line: ${reached}; 95 % are needed.`,
    cause: "The stimulus is smaller than the converter's range, or its offset is off centre.",
    advice: "Drive the input a few LSB past both ends of the range, within what the pin survives.",
    readings: [],
    nulls,
  };
}

/** Gaps of more than this between readings, LSB, hide codes. */
const WIDE_GAP = 1.5;
/** Readings a phase, from where a repetition is no accident: a frequency at random comes as close to a simple ratio once in a hundred records. */
const VISITS = 16;

/** A record that keeps coming back to the same few phases: more readings of it would tell nothing new. */
function fewPhases(grid: PositionGrid, { gap, readings }: Transitions, topCode: number): Finding | null {
  const distinct = Math.round(1 / kernels.gapSquares(grid.positions));
  const median = 2 * gap.slice().sort()[gap.length >> 1]!;
  if (!(distinct < readings / VISITS && median > WIDE_GAP)) return null;
  return {
    id: "few-phases",
    // A record too short for a histogram loses nothing that it could have shown.
    severity: readings >= topCode / 4 ? "warning" : "note",
    text: `The ${readings} readings fall on about ${distinct} different points of the stimulus, ${median.toFixed(1)} LSB apart at mid-scale: codes in between cannot be seen.`,
    cause: "The stimulus frequency is close to a simple fraction of the sample rate, so that the phases repeat.",
    advice: "Choose a frequency whose cycles in the record have no factor in common with the number of readings.",
    readings: [],
    nulls: [...NAMES, "hysteresis"],
  };
}

function histogramCurve({ scale }: MatchedRecord, { waveform, both }: Sweep): HistogramCurve {
  const { counts, total } = both.histogram;
  const { low, lsb, firstTransition } = scale;
  return { counts, expected: kernels.expectedCounts(waveform, low, lsb, firstTransition, counts.length, total) };
}
