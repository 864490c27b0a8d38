import type { Bench, CaptureSpec, Limit, LimitMetric } from "../bench/bench.ts";
import { unitOfMetric } from "../bench/metricValue.ts";
import { pinStimulus } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Hertz, Lsb, Seconds } from "../bench/units.ts";
import { say } from "../match/say.ts";
import {
  readingsForDnl,
  readingsForDnlKnownPhase,
  readingsForInl,
  readingsForRampDnl,
} from "../measure/recordLength.ts";
import { levelReadings } from "./levelReadings.ts";
import { idealSnr } from "./noiseBounds.ts";
import { percent } from "./percent.ts";
import { type SourceReach, sourceReach } from "./sourceReach.ts";
import {
  readingsForBits,
  readingsForDecibels,
  readingsForLine,
  readingsForSpread,
  readingsForThd,
} from "./toneLength.ts";

/** What deciding one limit takes from one capture. */
export interface LimitPlan {
  readonly metric: LimitMetric;
  readonly bound: "min" | "max";
  readonly limit: number;
  readonly unit: string;
  /** The capture that would judge it; null when none of the bench file's captures can. */
  readonly capture: string | null;
  /** ± that the readings aim at, in the metric's unit; null where readings are not what matters. */
  readonly tolerance: number | null;
  readonly readings: number | null;
  readonly time: Seconds | null;
  /** How the number of readings was got. */
  readonly method: string;
  readonly source: SourceReach | null;
}

export interface LimitPlanOptions {
  /** ± aimed at for LSB metrics; null: a tenth of the limit. */
  readonly tolerance: Lsb | null;
  readonly confidence: number;
  readonly noise: Lsb;
  readonly rateOf: (spec: CaptureSpec) => Hertz | null;
}

export type Family = "tone" | "static" | "noise";

const FAMILY: Readonly<Partial<Record<LimitMetric, Family>>> = {
  offsetError: "static",
  offsetAtLow: "static",
  gainError: "static",
  inl: "static",
  inlMax: "static",
  inlMin: "static",
  dnl: "static",
  dnlMax: "static",
  dnlMin: "static",
  missingCodes: "static",
  totalUnadjustedError: "static",
  hysteresis: "static",
  enob: "tone",
  enobAtLevel: "tone",
  sinad: "tone",
  snr: "tone",
  thd: "tone",
  sfdr: "tone",
  signalLevel: "tone",
  noiseFloor: "tone",
  noiseRms: "noise",
  codeRms: "noise",
  noisePeakToPeak: "noise",
  effectiveResolution: "noise",
  noiseFreeBits: "noise",
  meanCode: "noise",
  drift: "noise",
};

/** Codes need a histogram; steps give none. */
const PER_CODE: ReadonlySet<LimitMetric> = new Set(["dnl", "dnlMax", "dnlMin", "missingCodes"]);

/** Which kind of capture shows a limit's metric; null: none of a single stimulus. */
export function metricFamily({ metric }: Pick<Limit, "metric">): Family | null {
  return FAMILY[metric] ?? null;
}

/** What each limit of the bench file takes; one entry a bound. */
export function limitPlans(bench: Bench, options: LimitPlanOptions): LimitPlan[] {
  return bench.limits.flatMap((limit) =>
    (["min", "max"] as const).flatMap((bound) => {
      const value = limit[bound];
      if (value === null) return [];
      const spec = judgingCapture(bench.captures, limit);
      return [planOne(limit, bound, value, spec, bench, options)];
    }),
  );
}

/**
 * The capture that would judge a metric: the one the limit names, else, as score does, the one whose source leaves the smallest interval; among equals one
 * that is made for the purpose, then the first.
 */
export function judgingCapture(captures: readonly CaptureSpec[], limit: Limit): CaptureSpec | null {
  const able = captures.filter((spec) => canShow(spec, limit.metric));
  if (limit.capture !== null) return able.find((spec) => spec.name === limit.capture) ?? null;
  const family = FAMILY[limit.metric];
  const purpose = family === "static" ? "histogram" : family;
  const rank = (spec: CaptureSpec): readonly [number, number] => [
    sourceReach(limit, spec)?.halfWidth ?? 0,
    spec.use?.some((use) => use === purpose) ? 0 : 1,
  ];
  const better = (a: CaptureSpec, b: CaptureSpec): CaptureSpec => {
    const [[widthA, useA], [widthB, useB]] = [rank(a), rank(b)];
    return widthB < widthA || (widthB === widthA && useB < useA) ? b : a;
  };
  return able.length === 0 ? null : able.reduce(better);
}

function canShow(spec: CaptureSpec, metric: LimitMetric): boolean {
  const kind = spec.stimulus?.kind;
  const isFor = (use: "tone" | "histogram" | "noise"): boolean => spec.use === null || spec.use.includes(use);
  switch (FAMILY[metric]) {
    case "tone":
      return kind === "sine" && isFor("tone");
    case "noise":
      return kind === "steady" && isFor("noise");
    case "static": {
      if (kind === "steps") return !PER_CODE.has(metric) && metric !== "offsetAtLow";
      return (kind === "sine" || kind === "ramp" || kind === "triangle") && isFor("histogram");
    }
    default:
      return false;
  }
}

function planOne(
  limit: Limit,
  bound: "min" | "max",
  value: number,
  spec: CaptureSpec | null,
  bench: Bench,
  options: LimitPlanOptions,
): LimitPlan {
  const { metric } = limit;
  const base = { metric, bound, limit: value, unit: unitOfMetric(metric), capture: spec?.name ?? null };
  if (spec === null)
    return { ...base, tolerance: null, readings: null, time: null, source: null, method: whatItNeeds(metric) };
  const need = readingsFor(metric, value, spec, bench, options);
  const rate = options.rateOf(spec);
  return {
    ...base,
    ...need,
    time: need.readings === null || rate === null ? null : need.readings / rate,
    source: sourceReach(limit, spec),
  };
}

function whatItNeeds(metric: LimitMetric): string {
  switch (FAMILY[metric]) {
    case "tone":
      return "no capture shows it: add one with a sine (--write does)";
    case "noise":
      return "no capture shows it: add one with a steady voltage (--write does)";
    case "static":
      return PER_CODE.has(metric)
        ? "no capture shows it: add an overdriven sine (--write does), a ramp or a triangle"
        : "no capture shows it: add an overdriven sine (--write does), a ramp, a triangle or steps";
    default:
      return "no capture of one stimulus shows it: log two channels of a scan, one of them with a sine";
  }
}

type Need = Pick<LimitPlan, "tolerance" | "readings" | "method">;

/** What bits, decibels and noise are aimed at, where nothing else is asked for. */
const BITS = 0.05;
const DECIBELS = 0.5;
const HARMONIC_DECIBELS = 1;
const SPREAD = 0.1;

function readingsFor(
  metric: LimitMetric,
  value: number,
  spec: CaptureSpec,
  bench: Bench,
  options: LimitPlanOptions,
): Need {
  const none = (method: string): Need => ({ tolerance: null, readings: null, method });
  switch (metric) {
    case "enob":
    case "enobAtLevel":
      return { tolerance: BITS, readings: readingsForBits(BITS), method: "scatter of the residual rms" };
    case "sinad":
    case "snr":
    case "noiseFloor":
      return { tolerance: DECIBELS, readings: readingsForDecibels(DECIBELS), method: "scatter of the residual rms" };
    case "thd":
    case "sfdr": {
      const level = metric === "thd" ? value : -value;
      const snr = expectedSnr(bench, spec);
      const count = metric === "thd" ? readingsForThd : readingsForLine;
      return {
        tolerance: HARMONIC_DECIBELS,
        readings: count(level, snr, HARMONIC_DECIBELS),
        method: `harmonics against noise at ${snr.toFixed(1)} dB SNR`,
      };
    }
    case "signalLevel":
    case "meanCode":
      return none("any record of some hundred readings");
    case "noiseRms":
    case "codeRms":
      return {
        tolerance: SPREAD * value,
        readings: readingsForSpread(SPREAD),
        method: "scatter of a standard deviation",
      };
    case "effectiveResolution":
    case "noiseFreeBits":
      return { tolerance: BITS, readings: readingsForBits(BITS), method: "scatter of a standard deviation" };
    case "noisePeakToPeak":
      return none("grows with the record: compare records of equal length");
    case "drift":
      return none("as long as the drift is to be watched");
    case "hysteresis":
    case "offsetError":
    case "offsetAtLow":
    case "gainError":
    case "totalUnadjustedError":
    case "inl":
    case "inlMax":
    case "inlMin":
    case "dnl":
    case "dnlMax":
    case "dnlMin":
    case "missingCodes":
      return staticReadings(metric, value, spec, options);
    default:
      return none("not planned");
  }
}

function staticReadings(metric: LimitMetric, value: number, spec: CaptureSpec, options: LimitPlanOptions): Need {
  const scale = scaleOf(spec.converter);
  const codes = scale.topCode + 1;
  const inLsb = metric === "gainError" ? (Math.abs(value) / 100) * codes : Math.abs(value);
  // Missing codes are told from narrow ones by a tenth of an LSB, whatever the limit says.
  const aimed = metric === "missingCodes" || inLsb === 0 ? 0.1 : inLsb / 10;
  const tolerance = options.tolerance ?? Number(Math.min(0.5, Math.max(0.02, aimed)).toPrecision(2));
  const { noise, confidence } = options;
  const shown = metric === "gainError" ? (100 * tolerance) / codes : tolerance;
  const stimulus = spec.stimulus!;
  switch (stimulus.kind) {
    case "sine":
      return { tolerance: shown, ...sineReadings(metric, spec, tolerance, options) };
    case "ramp":
    case "triangle":
      return {
        tolerance: shown,
        readings: readingsForRampDnl({ bits: Math.log2(codes), halfWidth: tolerance, confidence }),
        method: `${stimulus.kind} histogram at ${percent(confidence)} a code`,
      };
    default: {
      const levels = stimulus.kind === "steps" ? (stimulus.levels?.length ?? null) : 1;
      const each = levelReadings(Math.sqrt(noise * noise + 1 / 12), tolerance, confidence);
      return {
        tolerance: shown,
        readings: levels === null ? null : each * levels,
        method: `${say.count(each)} readings at each level, after it has settled`,
      };
    }
  }
}

/**
 * A code's width by the published count, which holds at any phases; transitions themselves (INL, offset, gain) by the count for known phases, since counting alone
 * at random phases would grow as 4^N.
 */
function sineReadings(
  metric: LimitMetric,
  spec: CaptureSpec,
  halfWidth: Lsb,
  { confidence, noise }: LimitPlanOptions,
): Pick<Need, "readings" | "method"> {
  const codes = scaleOf(spec.converter).topCode + 1;
  const bits = Math.log2(codes);
  const aim = { bits, halfWidth, confidence };
  const known = { ...aim, noise, overdrive: Math.max(0, (amplitudeInLsb(spec) ?? 0) - codes / 2) };
  if (PER_CODE.has(metric))
    return {
      readings: readingsForDnl(aim),
      method: `at ${percent(confidence)} a code, whatever the phases (Doernberg et al. 1984); about ${say.count(readingsForDnlKnownPhase(known))} when coherent`,
    };
  return {
    readings: readingsForInl(known),
    method: `at ${percent(confidence)} a transition, coherent; counts at random phases would take ${say.count(readingsForInl(aim))}`,
  };
}

function amplitudeInLsb(spec: CaptureSpec): Lsb | null {
  const applied = pinStimulus(spec);
  return applied?.kind === "sine" && applied.amplitude !== null
    ? applied.amplitude / scaleOf(spec.converter).lsb
    : null;
}

/** SNR to plan by: what the ENOB, SINAD or SNR limit asks for, else the ideal converter's less 6 dB. */
function expectedSnr(bench: Bench, spec: CaptureSpec): number {
  for (const { metric, min } of bench.limits) {
    if (min === null) continue;
    if (metric === "snr" || metric === "sinad") return min;
    if (metric === "enob") return idealSnr(min);
  }
  return idealSnr(scaleOf(spec.converter).bits) - 6;
}
