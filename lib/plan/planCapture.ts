import type { Bench, CaptureSpec, LimitMetric } from "../bench/bench.ts";
import { pinStimulus } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Decibels, Hertz, Lsb, Seconds } from "../bench/units.ts";
import { foldedFrequency } from "../match/foldedFrequency.ts";
import { readingsForRampDnl } from "../measure/recordLength.ts";
import { harmonicPlaces } from "../measure/toneHarmonics.ts";
import { type CoherentChoice, coherentFrequency } from "./coherentFrequency.ts";
import { levelReadings } from "./levelReadings.ts";
import type { LimitPlan } from "./limitPlan.ts";
import { bitsOfSinad, idealSnr, jitterFor, jitterSnr } from "./noiseBounds.ts";
import { type PinReach, pinReach } from "./pinReach.ts";
import { isHistogramOnly, type OverdrivePlan, planOverdrive } from "./planOverdrive.ts";
import { readingTime } from "./readingTime.ts";
import { serialLoad } from "./serialLine.ts";

/** What to set for one capture, and what comes of it. */
export interface CapturePlan {
  readonly name: string;
  readonly kind: string | null;
  /** Readings to take, and why so many; null where that depends on what the bench file does not say (steps in a column). */
  readonly readings: number | null;
  readonly readingsBasis: string;
  readonly duration: Seconds | null;
  /** Time to send the record over the serial line; null without one. */
  readonly sending: Seconds | null;
  readonly tone: TonePlan | null;
  readonly overdrive: OverdrivePlan | null;
  readonly jitter: JitterPlan | null;
  readonly pin: PinReach | null;
}

export interface TonePlan extends CoherentChoice {
  readonly rate: Hertz;
  readonly wanted: Hertz;
  /** The bench file states no frequency; one was chosen. */
  readonly isChosen: boolean;
  readonly step: Hertz | null;
  /** How far the source's stated frequency limit may move the record off whole cycles, when its clock is not the converter's. */
  readonly driftCycles: number;
  /** Above half the rate: the tone appears at `appears`. */
  readonly aliased: boolean;
  readonly appears: Hertz;
  readonly harmonics: readonly {
    readonly order: number;
    readonly frequency: Hertz;
    readonly state: "kept" | "hidden" | "shared";
  }[];
}

export interface JitterPlan {
  readonly frequency: Hertz;
  /** ENOB that is wanted, by the limits or by the resolution. */
  readonly wantedBits: number;
  readonly basis: string;
  /** Largest rms jitter that leaves it to an otherwise ideal converter of endless resolution. */
  readonly allowed: Seconds;
  /** With the bench file's apertureJitter. */
  readonly stated: { readonly jitter: Seconds; readonly snr: Decibels; readonly bits: number } | null;
}

export interface CaptureOptions {
  readonly readings?: number | null;
  readonly prime?: boolean;
  readonly tolerance: Lsb | null;
  readonly noise: Lsb;
}

/** Records shorter than this are planned only on request. */
const USUAL_READINGS = 4096;
/** How much longer the record may get to make its frequency settable. */
const STRETCH = 1.25;

export function planCapture(
  spec: CaptureSpec,
  bench: Bench,
  limits: readonly LimitPlan[],
  options: CaptureOptions,
): CapturePlan {
  const mine = limits.filter((limit) => limit.capture === spec.name);
  const wanted = recordLength(spec, mine, options);
  const rate = readingTime(spec)?.rate ?? null;
  const tone = wanted.readings === null ? null : planTone(spec, bench, wanted.readings, wanted.isAsked, rate, options);
  const readings = tone?.readings ?? wanted.readings;
  return {
    name: spec.name,
    kind: spec.stimulus?.kind ?? null,
    readings,
    readingsBasis: wanted.basis,
    duration: rate === null || readings === null ? null : readings / rate,
    sending:
      bench.serial === null || readings === null
        ? null
        : readings / serialLoad(bench.serial, 1, scaleOf(spec.converter).topCode).carries,
    tone,
    overdrive: planOverdrive(spec, mine, options),
    jitter: planJitter(spec, bench, tone),
    pin: pinReach(spec),
  };
}

/** As asked for, else what the capture's limits need, else what its stimulus makes sense with. */
function recordLength(
  spec: CaptureSpec,
  mine: readonly LimitPlan[],
  options: CaptureOptions,
): { readonly readings: number | null; readonly basis: string; readonly isAsked: boolean } {
  const asked = options.readings ?? spec.readings ?? null;
  if (asked !== null) return { readings: asked, basis: "as asked", isAsked: true };
  const scale = scaleOf(spec.converter);
  const kind = spec.stimulus?.kind;
  let least = USUAL_READINGS;
  let basis = "enough for every limit of this capture";
  if (kind === undefined) return { readings: null, basis: "no stimulus stated, so nothing to plan", isAsked: false };
  if (kind === "ramp" || kind === "triangle") {
    least = readingsForRampDnl({ bits: scale.bits, halfWidth: COARSE });
    basis = `${Math.round(least / 2 ** scale.bits)} readings a code, ± ${COARSE} LSB on one code's width`;
  } else if (kind === "steps") {
    const each = levelReadings(Math.sqrt(options.noise ** 2 + 1 / 12), options.tolerance ?? FINE, 0.95);
    const levels = spec.stimulus?.kind === "steps" ? (spec.stimulus.levels?.length ?? null) : null;
    basis = `${each} readings at each level for ± ${options.tolerance ?? FINE} LSB, after it has settled`;
    if (levels === null) return { readings: null, basis, isAsked: false };
    least = each * levels;
  }
  const most = mine.reduce<LimitPlan | null>((a, b) => ((b.readings ?? 0) > (a?.readings ?? 0) ? b : a), null);
  if (most?.readings && most.readings > least)
    return { readings: most.readings, basis: `by the limit on ${most.metric}`, isAsked: false };
  return { readings: Math.ceil(least), basis, isAsked: false };
}

/** What a histogram without a limit is planned for, and a level's mean. */
const COARSE: Lsb = 0.5;
const FINE: Lsb = 0.1;

function planTone(
  spec: CaptureSpec,
  bench: Bench,
  readings: number,
  isAsked: boolean,
  rate: Hertz | null,
  options: CaptureOptions,
): TonePlan | null {
  if (spec.stimulus?.kind !== "sine" || rate === null || readings < 2) return null;
  const { frequency, accuracy } = spec.stimulus;
  // A tone low enough for its harmonics to stay unfolded, a histogram's sine slower still, so that settling and slewing stay out of it.
  const wanted = frequency ?? (isHistogramOnly(spec) ? rate / 1000 : rate / 50);
  const { step } = bench.generator;
  const choice = coherentFrequency({
    rate,
    wanted,
    readings,
    longest: isAsked || step === null ? readings : Math.floor(STRETCH * readings),
    step,
    ...(options.prime === undefined ? {} : { prime: options.prime }),
  });
  const cyclesPerReading = choice.frequency / rate;
  return {
    ...choice,
    rate,
    wanted,
    isChosen: frequency === null,
    step,
    driftCycles: accuracy.frequency * choice.cycles,
    aliased: cyclesPerReading > 0.5,
    appears: foldedFrequency(cyclesPerReading) * rate,
    harmonics: harmonicPlaces(foldedFrequency(choice.cycles / choice.readings), choice.readings).map((place) => ({
      order: place.order,
      frequency: place.frequency * rate,
      state: place.state,
    })),
  };
}

const TONE_METRICS: readonly LimitMetric[] = ["enob", "enobAtLevel", "sinad", "snr"];

function planJitter(spec: CaptureSpec, bench: Bench, tone: TonePlan | null): JitterPlan | null {
  const frequency = tone?.frequency ?? (spec.stimulus?.kind === "sine" ? spec.stimulus.frequency : null);
  if (frequency === null || isHistogramOnly(spec) || pinStimulus(spec) === null) return null;
  const limit = bench.limits.find(({ metric, min }) => TONE_METRICS.includes(metric) && min !== null);
  const bits = scaleOf(spec.converter).bits;
  const wantedBits =
    limit === undefined
      ? bits
      : limit.metric === "enob" || limit.metric === "enobAtLevel"
        ? (limit.min as number)
        : bitsOfSinad(limit.min as number);
  const jitter = spec.converter.input.apertureJitter ?? null;
  const snr = jitter === null || jitter === 0 ? null : jitterSnr(frequency, jitter);
  return {
    frequency,
    wantedBits,
    basis: limit === undefined ? "the resolution" : `the limit on ${limit.metric}`,
    allowed: jitterFor(frequency, idealSnr(wantedBits)),
    stated: jitter === null || snr === null ? null : { jitter, snr, bits: bitsOfSinad(snr) },
  };
}
