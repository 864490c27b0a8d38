import { kernels } from "../kernels/kernels.generated.js";
import { chiSquareQuantile } from "../signal/distributions.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { pairSpectrum, segmentStarts } from "../signal/spectrum.ts";
import { type Window, windowOf } from "../signal/window.ts";
import type { WindowName } from "../signal/windowTable.ts";
import type { ToneAnalysis } from "./toneAnalysis.ts";
import { harmonicParts } from "./toneHarmonics.ts";

/** A tone record's spectrum: the residual's, and the record's own as a second route to SINAD. Powers in LSB², lines at their A²/2. */
export interface ToneSpectrum {
  /** Residual of tone and harmonics 2…10, bins 0…L/2. */
  readonly residual: Float64Array;
  readonly length: number;
  readonly segments: number;
  readonly window: WindowName;
  readonly noiseBandwidth: number;
  /** Noise level of each bin, from the median of its neighbourhood. */
  readonly floor: Float64Array;
  /** Independent averages in a bin. */
  readonly averages: number;
  readonly isCoherent: boolean;
  /**
   * NAD² from the record's windowed spectrum, tone and DC left out; null where the record is too short for a window of the reach it needs.
   */
  readonly nad: number | null;
  readonly nadWindow: WindowName;
  /** How much more this route scatters than the time-domain fit, as a factor on the variance. */
  readonly nadVarianceFactor: number;
}

/** The longest record that is transformed whole. */
const WHOLE = 1 << 16;
const SEGMENT = 1 << 14;
/** Steps of the harmonics' table: straight lines between them are off by 2e-6 of the tenth harmonic at most. */
const TABLE = 1 << 14;

/**
 * Spectrum of a tone record. Tone and harmonics are subtracted before the residual is windowed, so that the floor is the converter's and
 * not the window's. A record of up to
 * 65 536 readings is transformed whole, whatever its length; a longer one in up to 48 (from 4 million readings 128) segments of 16 384.
 */
export function toneSpectrum(codes: Int32Array, analysis: ToneAnalysis): ToneSpectrum {
  const { fit, readings } = analysis;
  const isCoherent = coherent(analysis);
  const whole = readings <= WHOLE;
  const length = whole ? readings : SEGMENT;
  const starts = whole ? [0] : segmentStarts(readings, length, readings < 4e6 ? 48 : 128);
  const window: WindowName = whole && isCoherent ? "rectangular" : "Hann";
  const sinad = analysis.nad > 0 ? analysis.tonePower / analysis.nad : Number.POSITIVE_INFINITY;
  // A 4-term Blackman-Harris window leaks at −92 dB; beyond 55 dB its sum over all bins would begin to show.
  const nadWindow: WindowName = whole && isCoherent ? "rectangular" : sinad < 10 ** 5.5 ? "Blackman-Harris" : "HFT144D";
  const windows = [windowOf(nadWindow, length), windowOf(window, length)] as const;
  const pair = pairSpectrum(segments(codes, analysis, length, starts.length, windows), starts, length, windows);
  const overlap = whole ? 1 : Math.min(1, readings / (starts.length * length));
  // Hann segments that overlap by half count as about 0.95 of as many independent ones that do not; neighbours share a sixth.
  const averages = Math.max(1, starts.length * (overlap > 0.9 ? 1 : 0.9));
  const noise = analysis.noise ?? analysis.nad;
  const perBin = (noise * 2 * windows[1].noiseBandwidth) / length;
  const shortest = 16 * windows[0].lobe;
  return {
    residual: pair.second,
    length,
    segments: starts.length,
    window,
    noiseBandwidth: windows[1].noiseBandwidth,
    floor: floorOf(pair.second, perBin, averages),
    averages,
    isCoherent,
    nad: length >= shortest ? nadOf(pair.first, fit, length, windows[0].lobe, windows[0].noiseBandwidth) : null,
    nadWindow,
    nadVarianceFactor: (windows[0].noiseBandwidth * readings) / Math.min(readings, starts.length * length),
  };
}

/** Whole cycles so nearly that what leaks from the tone's bin stays below a hundredth of a decibel of NAD². */
function coherent({ fit, readings, nad }: ToneAnalysis): boolean {
  const cycles = fit.cyclesPerReading * readings;
  const off = cycles - Math.round(cycles);
  return ((Math.PI * off) ** 2 / 3) * (fit.amplitude ** 2 / 2) < 0.002 * nad;
}

/** The readings about their offset, and the residual of tone and harmonics, of a segment; windowed and packed as one complex signal. */
function segments(
  codes: Int32Array,
  { fit, harmonics, readings }: ToneAnalysis,
  length: number,
  count: number,
  [raw, residual]: readonly [Window, Window],
): (start: number, into: Float64Array) => void {
  const parts = harmonicParts(harmonics?.lines ?? []);
  // A single segment meets too few of the phases to be worth a table.
  const table = count > 1 && parts.order.length > 0 ? kernels.harmonicTable(parts, TABLE) : new Float64Array(0);
  return (start, into) => {
    const segment = codes.subarray(start, start + length);
    kernels.windowedTone(segment, start, readings, fit, parts, table, TABLE, raw.values, residual.values, into);
  };
}

/** Mean square beside DC and the tone: bins summed, the window's bandwidth taken out, and made up for the bins left out. */
function nadOf(power: Float64Array, fit: SineFit, length: number, lobe: number, noiseBandwidth: number): number {
  const tone = fit.cyclesPerReading * length;
  const reach = lobe === 1 ? 0.5 : lobe;
  let sum = 0;
  let used = 0;
  let all = 0;
  for (let k = 1; k < power.length; k++) {
    const weight = 2 * k === length ? 0.5 : 1;
    all += weight;
    if ((lobe > 1 && k <= lobe) || Math.abs(k - tone) <= reach) continue;
    sum += power[k]!;
    used += weight;
  }
  return ((sum / noiseBandwidth) * all) / used;
}

/** Too few bins for medians: the noise is taken as white. */
const FEWEST_BINS = 96;
/** Bins that a median is taken over: as many as their own number, so that a slope towards DC is followed, within these. */
const NARROWEST = 24;
const WIDEST = 128;

/**
 * Noise level bin by bin: medians of growing blocks, turned into means, and joined by straight lines on a double logarithmic scale, carried
 * on towards DC. Lines hardly move
 * a median, and noise that rises towards DC (1/f, slow drift) is not taken for lines.
 */
function floorOf(power: Float64Array, perBin: number, averages: number): Float64Array {
  if (power.length < FEWEST_BINS) return new Float64Array(power.length).fill(perBin);
  const dof = 2 * averages;
  const medianShare = chiSquareQuantile(0.5, dof) / dof;
  const centres: number[] = [];
  const levels: number[] = [];
  for (let from = 1; from < power.length; ) {
    const width = Math.min(WIDEST, Math.max(NARROWEST, from));
    // The last block takes a short rest with it.
    const to = power.length - (from + width) < width / 2 ? power.length : from + width;
    const sorted = power.slice(from, to).sort();
    centres.push(Math.sqrt(from * to));
    // Where whole stretches of bins are empty (a noise-free coherent record), something must be left to compare with.
    levels.push(Math.max(sorted[sorted.length >> 1]! / medianShare, 1e-9 * perBin, Number.MIN_VALUE));
    from = to;
  }
  return kernels.joinedLevels(Float64Array.from(centres), Float64Array.from(levels), power.length);
}

/**
 * How much fewer independent readings the residual's noise is worth than white noise: Σ F²·n/(Σ F)², F the noise density. From the
 * spectrum's own bins, whose squares are on average twice
 * F² (1 + 1/K times with K averages). Isolated lines are left out: the power of a steady line does not scatter.
 * @returns 1 for white noise and whatever is not clearly more
 * Source: Var(mean of squares) of Gaussian noise = 2·Σ ρ²·s⁴/M, by Parseval (Bendat and Piersol, "Random Data", 1986, 8.2; from memory).
 */
export function colouredness({
  residual,
  floor,
  averages,
}: Pick<ToneSpectrum, "residual" | "floor" | "averages">): number {
  let sum = 0;
  let squares = 0;
  let bins = 0;
  const last = residual.length - 2;
  for (let k = 1; k <= last; k++) {
    const p = residual[k]!;
    // A line stands alone: far above the noise level here, with low ground within eight bins to both sides.
    if (p > 15 * floor[k]! && isAlone(residual, k)) continue;
    sum += p;
    squares += p * p;
    bins++;
  }
  if (bins < 16 || !(sum > 0)) return 1;
  const ratio = (bins * squares) / (1 + 1 / averages) / (sum * sum);
  return ratio > 1 + 6 / Math.sqrt(bins * averages) ? ratio : 1;
}

function isAlone(power: Float64Array, k: number): boolean {
  const near = (from: number, to: number): number => {
    let sum = 0;
    for (let i = from; i <= to; i++) sum += power[Math.min(power.length - 1, Math.max(1, i))]!;
    return sum / (to - from + 1);
  };
  const beside = Math.max(near(k - 8, k - 4), near(k + 4, k + 8));
  return beside < 0.05 * Math.max(power[k - 1]!, power[k]!, power[k + 1]!);
}
