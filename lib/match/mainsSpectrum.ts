import { kernels } from "../kernels/kernels.generated.js";
import { realFft } from "../signal/fft.ts";
import { median } from "../signal/median.ts";
import { FALSE_ALARM } from "./context.ts";
import { foldedFrequency } from "./foldedFrequency.ts";

/** Mains frequency is held to about ± 0.5 % in ordinary operation of a large grid; common practice. */
export const MAINS_TOLERANCE = 0.005;
export const MAINS_ORDERS = [1, 2, 3, 4, 5, 6, 7] as const;
/** Orders of the tone whose lines are not taken for hum at all; of the higher ones up to the second only those that no curve of some LSB brings about: a triangle's fall off sooner. */
const TONE_ORDERS = { near: 10, farOfTriangle: 40, far: 200 };

/** A line of the mains that stands out of the noise. */
export interface MainsLine {
  readonly order: number;
  /** Codes. */
  readonly amplitude: number;
  /** Where it stands, 0…½ cycle per value. */
  readonly cycles: number;
}

/** Squared amplitude of a line in each bin, Hann-windowed. */
export function hannPower(values: Float64Array): Float64Array {
  const { re, im } = realFft(kernels.hannWindowed(values));
  return kernels.linePowers(re, im, values.length);
}

/**
 * The line of one order of the mains: it must stand out of the median of its neighbourhood by what exponentially distributed powers exceed with chance FALSE_ALARM over
 * all bins looked at.
 * @param cycles  of that order, per value
 * @param tone    cycles of the tone per value, and how many of its harmonics have been taken off
 * @param least   amplitudes, codes: what the quantiser may leave anywhere, and what the converter's curve may leave on a harmonic of the tone
 */
export function lineAt(
  power: Float64Array,
  n: number,
  cycles: number,
  order: number,
  tone: { readonly cycles: number; readonly takenOff: number } | null,
  least: { readonly anywhere: number; readonly beside: number },
): MainsLine | null {
  const centre = foldedFrequency(cycles) * n;
  const reach = Math.max(1, cycles * n * MAINS_TOLERANCE);
  const from = Math.max(3, Math.round(centre - reach));
  const to = Math.min(power.length - 3, Math.round(centre + reach));
  if (from > to || centre < 2.5) return null;
  const takenOff = tone?.takenOff ?? 0;
  const bins = (first: number, last: number, reach: number): Set<number> =>
    toneBins(n, tone?.cycles ?? null, first, last, reach, from - 1, to + 1);
  // What was taken off leaves a cell in which a line would have gone with it.
  const near = new Set([...bins(1, takenOff, 0.8), ...bins(takenOff + 1, TONE_ORDERS.near, HANN_REACH)]);
  let peak = -1;
  for (let k = from; k <= to; k++) if (!near.has(k) && (peak < 0 || power[k]! > power[peak]!)) peak = k;
  if (peak < 0) return null;
  const background = (reach: number): number => {
    const around: number[] = [];
    for (let k = Math.max(2, from - reach); k <= Math.min(power.length - 2, to + reach); k++)
      if (k < from - 2 || k > to + 2 || (to - from > 40 && Math.abs(k - peak) > 3)) around.push(power[k]!);
    // The median of an exponential is ln 2 of its mean; few neighbours know it poorly.
    return around.length < 6 ? Number.NaN : (median(around) / Math.LN2) * (1 + 3 / Math.sqrt(around.length));
  };
  const wide = background(40);
  if (Number.isNaN(wide)) return null;
  // Noise that rises towards DC or the tone shows in the nearer neighbours; so would harmonics that are still there.
  const mean = Math.max(wide, takenOff > 0 ? background(10) || 0 : 0);
  const limit = mean * Math.log(((to - from + 1) * MAINS_ORDERS.length * 2) / FALSE_ALARM);
  if (!(power[peak]! > limit)) return null;
  // Between two bins a Hann line shows up to 1.4 dB low: the three largest bins' power makes up for it (noise bandwidth 1.5).
  const [below, at, above] = [power[peak - 1]!, power[peak]!, power[peak + 1]!];
  const amplitude = Math.sqrt(Math.max(at, (below + at + above) / 1.5));
  if (!(amplitude > least.anywhere)) return null;
  const far = bins(1, takenOff > 0 ? TONE_ORDERS.far : TONE_ORDERS.farOfTriangle, HANN_REACH);
  if (far.has(peak) && !(amplitude > least.beside)) return null;
  // Of a Hann line d bins off its largest bin the next one is lower by (1 + d)/(2 − d).
  const ratio = Math.sqrt(Math.max(below, above) / at);
  const off = (above > below ? 1 : -1) * Math.max(0, Math.min(0.5, (2 * ratio - 1) / (1 + ratio)));
  return { order, amplitude, cycles: (peak + off) / n };
}

/** Bins to each side that the Hann window's main lobe covers, between two bins. */
const HANN_REACH = 2.5;

/** Bins within reach of the tone's orders `first` to `last`. */
function toneBins(
  n: number,
  tone: number | null,
  first: number,
  last: number,
  reach: number,
  from: number,
  to: number,
): Set<number> {
  const bins = new Set<number>();
  if (tone === null) return bins;
  for (let h = first; h <= last; h++) {
    const at = foldedFrequency(h * tone) * n;
    for (let k = Math.ceil(at - reach); k <= at + reach; k++) if (k >= from && k <= to) bins.add(k);
  }
  return bins;
}
