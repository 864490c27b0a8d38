import type { CaptureSpec } from "../bench/bench.ts";
import { atPin, atSource } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import { overdriveFor } from "../measure/recordLength.ts";
import type { LimitPlan } from "./limitPlan.ts";
import { pinReach } from "./pinReach.ts";

/** The sine that exercises every code: past both ends of the range by more than the noise. */
export interface OverdrivePlan {
  readonly noise: Lsb;
  readonly tolerance: Lsb;
  /** Beyond each end of the range. */
  readonly overdrive: Lsb;
  /** Amplitude and offset at the source; the source's own limits are allowed for. */
  readonly amplitude: Volts;
  readonly offset: Volts;
  /** The bench file's own amplitude and offset, when both are given, pass both ends by at least the overdrive. */
  readonly isReached: boolean | null;
  /** At the planned amplitude, limits at their worst, the pin stays within what it survives. */
  readonly isSafe: boolean;
}

/** A sine for the histogram alone, which may clip; with another use it must not. */
export function isHistogramOnly(spec: CaptureSpec): boolean {
  return spec.use?.every((use) => use === "histogram") ?? false;
}

/**
 * @param limits  what the limits that this capture judges aim at
 * @returns null for anything but a sine meant for the histogram alone
 */
export function planOverdrive(
  spec: CaptureSpec,
  limits: readonly LimitPlan[],
  options: { readonly tolerance: Lsb | null; readonly noise: Lsb },
): OverdrivePlan | null {
  if (spec.stimulus?.kind !== "sine" || !isHistogramOnly(spec)) return null;
  const { amplitude, offset, accuracy } = spec.stimulus;
  const scale = scaleOf(spec.converter);
  const tolerances = limits.filter((l) => l.unit === "LSB").flatMap((l) => (l.tolerance === null ? [] : [l.tolerance]));
  const tolerance = options.tolerance ?? Math.min(0.1, ...tolerances);
  const overdrive = overdriveFor(options.noise, tolerance);
  const gain = Math.abs(spec.frontEnd?.gain ?? 1);
  const slack = gain * accuracy.offset;
  const relative = accuracy.amplitude + (spec.frontEnd?.accuracy ?? 0);
  const middle = scale.low + scale.fsr / 2;
  const half = scale.fsr / 2 + overdrive * scale.lsb;
  // The divider's limit acts on the offset as well.
  const shift = (spec.frontEnd?.accuracy ?? 0) * Math.abs(middle - (spec.frontEnd?.offset ?? 0)) + slack;
  const planned = roundUp((half + shift) / (1 - relative) / gain);
  const plannedOffset = Number(atSource(spec, middle).toPrecision(4));
  const asPlanned: CaptureSpec = {
    ...spec,
    stimulus: { ...spec.stimulus, amplitude: planned, offset: plannedOffset },
  };
  const reach = pinReach(asPlanned);
  let isReached: boolean | null = null;
  if (amplitude !== null && offset !== null) {
    const least = gain * amplitude * (1 - relative) - slack;
    isReached = Math.abs(atPin(spec, offset) - middle) + half <= least + 1e-9;
  }
  return {
    noise: options.noise,
    tolerance,
    overdrive,
    amplitude: planned,
    offset: plannedOffset,
    isReached,
    isSafe: reach === null || reach.worstExcess <= 1e-9,
  };
}

/** Up to three digits, so that it can be set at a generator. */
function roundUp(volts: Volts): Volts {
  const unit = 10 ** (Math.floor(Math.log10(volts)) - 2);
  return Number((Math.ceil(volts / unit - 1e-9) * unit).toPrecision(3));
}
