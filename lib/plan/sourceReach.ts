import type { CaptureSpec, Limit, LimitMetric, SineStimulus } from "../bench/bench.ts";
import { type PinStimulus, pinStimulus, type SourceLimit } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import { halfWidth } from "../judge/coverage.ts";
import { significant } from "../judge/significant.ts";
import { bitsOfSinad, combineSnr, idealSnr } from "./noiseBounds.ts";

/** What the source, front end and reference let a limit show, however many readings are taken. */
export interface SourceReach {
  /** "no": not even a perfect converter could pass; "narrow": only one clearly better than the limit; "yes". */
  readonly shows: "yes" | "narrow" | "no";
  readonly text: string;
  /** Half-width at about 95 % that the stated limits alone give the metric, in its unit; null where purity decides instead. */
  readonly halfWidth: number | null;
}

/**
 * @returns null where nothing stated about the source acts on the metric
 */
export function sourceReach(limit: Limit, spec: CaptureSpec): SourceReach | null {
  const applied = pinStimulus(spec);
  if (applied === null) return null;
  return staticReach(limit, spec, applied) ?? (applied.kind === "sine" ? purityReach(limit, spec, applied) : null);
}

function staticReach(limit: Limit, spec: CaptureSpec, applied: PinStimulus): SourceReach | null {
  const effect = limitEffects(limit.metric, spec, applied);
  if (effect === null || limit.max === null) return null;
  const { parts, unit } = effect;
  const stated = parts.filter((part) => part.halfWidth > 0);
  if (stated.length === 0) return null;
  const width = halfWidth(
    0,
    stated.map((part) => part.halfWidth),
  );
  const [worst] = [...stated].sort((a, b) => b.halfWidth - a.halfWidth);
  const amount = `the source's own limits make ± ${significant(width)} ${unit} of it (most by ${worst!.from})`;
  if (width >= limit.max)
    return {
      shows: "no",
      halfWidth: width,
      text: `${amount}, so a limit of ${limit.max} ${unit} cannot be shown to be met, not even by a perfect converter`,
    };
  const room = limit.max - width;
  if (width > 0.3 * limit.max)
    return {
      shows: "narrow",
      halfWidth: width,
      text: `${amount}, so only a converter within ${significant(room)} ${unit} can be shown to pass`,
    };
  return { shows: "yes", halfWidth: width, text: amount };
}

/**
 * What each stated limit does to a static metric. A scale limit δ moves a voltage V by δ·(V − pivot): gain takes it whole, offset at 0 V takes δ·|pivot|, offset at the bottom
 * δ·|low − pivot|. A shift moves offsets alone. The source's own curvature goes straight into INL.
 */
function limitEffects(
  metric: LimitMetric,
  spec: CaptureSpec,
  applied: PinStimulus,
): { readonly parts: readonly { readonly from: string; readonly halfWidth: number }[]; readonly unit: string } | null {
  const scale = scaleOf(spec.converter);
  const { lsb, low } = scale;
  const high = low + scale.fsr;
  const at = (point: (pivot: Volts) => number, takesShift: boolean) =>
    applied.limits.map((limit: SourceLimit) => ({
      from: limit.from,
      halfWidth: limit.kind === "scale" ? limit.halfWidth * point(limit.pivot) : takesShift ? limit.halfWidth / lsb : 0,
    }));
  const own = { from: "source linearity", halfWidth: applied.linearity / lsb };
  switch (metric) {
    case "gainError":
      return { parts: at(() => 100, false), unit: "%" };
    case "offsetError":
      return { parts: at((pivot) => Math.abs(pivot) / lsb, true), unit: "LSB" };
    case "offsetAtLow":
      return { parts: at((pivot) => Math.abs(low - pivot) / lsb, true), unit: "LSB" };
    case "totalUnadjustedError":
      return {
        parts: [...at((pivot) => Math.max(Math.abs(low - pivot), Math.abs(high - pivot)) / lsb, true), own],
        unit: "LSB",
      };
    case "inl":
    case "inlMax":
    case "inlMin":
      return { parts: [own], unit: "LSB" };
    case "hysteresis":
      return { parts: [{ from: "source repeatability", halfWidth: applied.repeatability / lsb }], unit: "LSB" };
    default:
      return null;
  }
}

/** A source's noise adds its power; its distortion may add to the converter's in phase, so amplitudes add. */
function purityReach(limit: Limit, spec: CaptureSpec, sine: SineStimulus): SourceReach | null {
  const { thd, snr } = sine.purity;
  if (thd === null && snr === null) return null;
  const { metric, min, max } = limit;
  const ideal = idealSnr(scaleOf(spec.converter).bits);
  const bounds = [thd === null ? null : -thd, snr].filter((db): db is number => db !== null);
  const best = (
    ratios: readonly number[],
    what: string,
    unit: string,
    toUnit: (db: number) => number,
  ): SourceReach | null => {
    if (min === null || ratios.length === 0) return null;
    const reached = toUnit(combineSnr([...ratios, ideal]));
    const without = toUnit(ideal);
    const says = `with the source's stated ${what}, a perfect converter would show ${significant(reached, 3)} ${unit}`;
    if (reached < min)
      return {
        shows: "no",
        halfWidth: null,
        text: `${says}, below the limit of ${min} ${unit}: the limit cannot be shown to be met`,
      };
    // The limit's share of the room between it and the ideal that the source takes.
    if (reached - min < 0.5 * (without - min))
      return {
        shows: "narrow",
        halfWidth: null,
        text: `${says}, so a fail between ${min} ${unit} and there may be the source's`,
      };
    return { shows: "yes", halfWidth: null, text: says };
  };
  const same = (db: number): number => db;
  switch (metric) {
    case "enob":
    case "enobAtLevel":
      return best(bounds, "distortion and noise", "bit", (db) => bitsOfSinad(db));
    case "sinad":
      return best(bounds, "distortion and noise", "dB", same);
    case "snr":
      return best(snr === null ? [] : [snr], "noise", "dB", same);
    case "thd":
    case "sfdr": {
      const bound = metric === "thd" ? max : min === null ? null : -min;
      if (thd === null || bound === null) return null;
      const room = bound - thd;
      const says = `the source's own distortion of ${significant(thd, 3)} dBc`;
      if (room <= 0)
        return {
          shows: "no",
          halfWidth: null,
          text: `${says} is not below the limit of ${significant(bound, 3)} dBc: the limit cannot be shown to be met`,
        };
      const converter = 20 * Math.log10(10 ** (bound / 20) - 10 ** (thd / 20));
      return {
        shows: room < 10 ? "narrow" : "yes",
        halfWidth: null,
        text: `${says} is ${significant(room)} dB below the limit; in phase with the converter's it would push one of ${significant(converter, 3)} dBc to the limit`,
      };
    }
    default:
      return null;
  }
}
