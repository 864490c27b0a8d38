import { chiSquareQuantile } from "../signal/distributions.ts";
import { lineFactors } from "./toneInterval.ts";
import type { ToneSpectrum } from "./toneSpectrum.ts";

/** The largest line that is neither DC, the tone nor a harmonic that was fitted. Powers in LSB². */
export interface Spur {
  /** Cycles per reading. */
  readonly frequency: number;
  readonly power: number;
  /** About 95 %; low is 0 where it does not stand out of the noise. */
  readonly low: number;
  readonly high: number;
  readonly standsOut: boolean;
}

/** The noise's own largest bin passes for a line once in a thousand records, a little more often where its level is known from few bins. */
const FALSE_ALARM = 0.001;

/**
 * Searches the residual's spectrum for its largest line. A line must rise above the noise of its own neighbourhood by more than the largest
 * of all bins would by chance.
 * @param tone  cycles per reading; its own resolution cell is left out, and so are the bins beside DC
 */
export function largestSpur(spectrum: ToneSpectrum, tone: number): Spur | null {
  const { residual, floor, length, averages, window } = spectrum;
  const beside = window === "rectangular" ? 0 : 2;
  const last = residual.length - 1;
  const bins = last - beside;
  if (bins < 4) return null;
  const dof = 2 * averages;
  const threshold = chiSquareQuantile(1 - FALSE_ALARM / bins, dof) / dof;
  let loudest = -1;
  let line = -1;
  for (let k = beside + 1; k <= last; k++) {
    if (Math.abs(k - tone * length) <= (beside === 0 ? 0.5 : 1)) continue;
    const p = residual[k]!;
    if (loudest < 0 || p > residual[loudest]!) loudest = k;
    if (p > threshold * floor[k]! && (line < 0 || p > residual[line]!)) line = k;
  }
  if (loudest < 0) return null;
  // Drift and lines cannot be told apart beside DC, but what is there bounds a line that may hide in it.
  let hiding = 0;
  for (let n = 1; n <= beside; n++) hiding = Math.max(hiding, residual[n]!);
  const seen = (k: number): number => (dof * residual[k]!) / (floor[k]! || Number.MIN_VALUE);
  const standsOut = line >= 0 && floor[line]! > 0;
  const k = standsOut ? line : loudest;
  const level = floor[k]! / dof;
  const between = standsOut ? betweenBins(spectrum, k) : 1;
  // A line that was picked as the largest of many is judged at the level of them all, or its lower end would be too high.
  const [among] = lineFactors(seen(k), dof, 1e6, FALSE_ALARM / bins);
  const [alone] = lineFactors(seen(k), dof, 1e6);
  const low = among > 0.25 * alone ? alone : among;
  const [, high] = lineFactors(seen(loudest), dof, 1e6);
  return {
    frequency: k / length,
    power: standsOut ? Math.max(0, residual[k]! - floor[k]!) * between : residual[k]!,
    low: standsOut ? low * level : 0,
    high: Math.max(
      high * (floor[loudest]! / dof) * (standsOut ? between : beside === 0 ? 1 : HANN_SCALLOP),
      hiding * HANN_SCALLOP,
    ),
    standsOut,
  };
}

/** Hann: a line half-way between bins reads 1.4236 dB low. Source: Harris 1978, table 1. */
const HANN_SCALLOP = 10 ** 0.14236;

/** What a line between bins loses in its highest one, from the higher neighbour; 1 where the neighbour is noise. */
function betweenBins({ residual, floor, window }: ToneSpectrum, k: number): number {
  const left = residual[k - 1] ?? 0;
  const right = residual[k + 1] ?? 0;
  const ratio = Math.sqrt(Math.max(left, right) / residual[k]!);
  if (Math.max(left, right) < 4 * floor[k]!) return 1;
  const delta =
    window === "rectangular" ? ratio / (1 + ratio) : Math.max(0, Math.min(0.5, (2 * ratio - 1) / (ratio + 1)));
  if (delta < 1e-6) return 1;
  const sinc = (Math.PI * delta) / Math.sin(Math.PI * delta);
  return window === "rectangular" ? sinc ** 2 : (sinc * (1 - delta * delta)) ** 2;
}
