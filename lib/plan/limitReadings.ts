import type { Bench, CaptureSpec, LimitMetric } from "../bench/bench.ts";
import { pinStimulus } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { say } from "../match/say.ts";
import {
  readingsForDnl,
  readingsForDnlKnownPhase,
  readingsForInl,
  readingsForRampDnl,
} from "../measure/recordLength.ts";
import { PER_CODE } from "./judgingCapture.ts";
import { levelReadings } from "./levelReadings.ts";
import type { LimitPlan, LimitPlanOptions } from "./limitPlan.ts";
import { idealSnr } from "./noiseBounds.ts";
import { percent } from "./percent.ts";
import {
  readingsForBits,
  readingsForDecibels,
  readingsForLine,
  readingsForSpread,
  readingsForThd,
} from "./toneLength.ts";

/** Readings that one limit takes, the ± they aim at, and how the number was got. */
type Need = Pick<LimitPlan, "tolerance" | "readings" | "method">;

/** What bits, decibels and noise are aimed at, where nothing else is asked for. */
const BITS = 0.05;
const DECIBELS = 0.5;
const HARMONIC_DECIBELS = 1;
const SPREAD = 0.1;

/**
 * What a limit takes from the capture that judges it.
 * @param value  the limit, in the metric's unit
 */
export function limitReadings(
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
      return none("a tone on one channel, its neighbours logged in the same scan");
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
