import type { Harmonic } from "./measurement.ts";
import { linePower, type ToneAnalysis } from "./toneAnalysis.ts";
import type { HarmonicLine } from "./toneHarmonics.ts";
import { decibels, lineFactors } from "./toneInterval.ts";
import type { ToneSpectrum } from "./toneSpectrum.ts";

/** A fitted harmonic with its interval, LSB². */
export interface MeasuredHarmonic {
  readonly line: HarmonicLine;
  /** Noise variance of one of its two components. */
  readonly noise: number;
  /** As seen, and freed of noise. */
  readonly seen: number;
  readonly power: number;
  readonly low: number;
  readonly high: number;
  /** Lower end where this one harmonic was picked because it is the largest of all; 0 unless it then still stands out. */
  readonly lowAsLargest: number;
}

/** All harmonics together. */
export interface Distortion {
  readonly harmonics: readonly MeasuredHarmonic[];
  /** Σ of the powers freed of noise; null where noise alone explains what was seen. */
  readonly value: number | null;
  readonly low: number;
  readonly high: number;
}

/** One-sided chance that noise alone passes for the largest harmonic. */
const AS_LARGEST = 0.004;
/** The same for the sum of all: a sum that is reported only when it stands out has been picked, too. */
const AS_DISTORTION = 0.002;

/** Lines whose power is only known from others' may hold twice as much. */
export const UNKNOWN = 2;

/** How far the noise beside a harmonic must stand above the record's median to be counted there. */
const LOCAL = 1.5;

/**
 * Powers of the fitted harmonics and of their sum, each freed of the noise it holds, with intervals that stay right down to the noise.
 * @returns null where the record cannot tell harmonics apart
 */
export function measureDistortion(analysis: ToneAnalysis, spectrum: ToneSpectrum): Distortion | null {
  const { harmonics: fit, readings, scatter, leakage } = analysis;
  if (fit === null || fit.lines.length === 0) return null;
  const dof = Math.max(1, readings - fit.parameters);
  const typical = spectrum.floor.slice().sort()[spectrum.floor.length >> 1]!;
  const harmonics = fit.lines.map((line, i): MeasuredHarmonic => {
    const local = spectrum.floor[Math.min(spectrum.floor.length - 1, Math.round(line.frequency * spectrum.length))]!;
    const coloured = local > LOCAL * typical ? local / typical : 1;
    const own = (scatter.ofResidual * line.spread * coloured) / (line.atHalf ? 1 : 2);
    const noise = Math.max(1e-30, own + leakage.intoLines[i]!);
    const seen = (line.a ** 2 + line.b ** 2) / (line.atHalf ? 1 : 2);
    const components = line.atHalf ? 1 : 2;
    const [low, high] = lineFactors((line.a ** 2 + line.b ** 2) / noise, components, dof);
    const [among] = lineFactors((line.a ** 2 + line.b ** 2) / noise, components, dof, AS_LARGEST / fit.lines.length);
    const toPower = line.atHalf ? noise : noise / 2;
    return {
      line,
      noise,
      seen,
      power: linePower(line, scatter.ofResidual * coloured),
      low: low * toPower,
      high: high * toPower,
      // Far above what the largest of several noises reaches, picking it tells nothing more.
      lowAsLargest: (among > 0.25 * low ? low : among) * toPower,
    };
  });
  // Pooled as one χ²: the mean noise of the components, weighted by how much each scatters.
  let seen = 0;
  let first = 0;
  let second = 0;
  for (const h of harmonics) {
    const components = h.line.atHalf ? 1 : 2;
    seen += h.line.a ** 2 + h.line.b ** 2;
    first += components * h.noise;
    second += components * h.noise ** 2;
  }
  const each = second / first;
  const components = first ** 2 / second;
  const [alone, high] = lineFactors(seen / each, components, dof);
  const [picked] = lineFactors(seen / each, components, dof, AS_DISTORTION);
  const low = picked > 0.25 * alone ? alone : picked;
  const value = harmonics.reduce((sum, h) => sum + h.power, 0);
  return {
    harmonics,
    value: low > 0 && value > 0 ? value : null,
    low: (low * each) / 2,
    high: (high * each) / 2 + UNKNOWN * leakage.shared,
  };
}

/** The table of harmonics 2…10 as it is reported; frequencies times `rate`. */
export function harmonicTable(analysis: ToneAnalysis, distortion: Distortion | null, rate: number): Harmonic[] {
  const { places, tonePower } = analysis;
  return places.map(({ order, frequency, state }): Harmonic => {
    const blank = { order, frequency: frequency * rate, level: null, low: null, high: null };
    const measured = distortion?.harmonics.find((h) => h.line.order === order);
    if (state === "shared") return { ...blank, note: "coincides with a lower harmonic" };
    if (state === "hidden" || measured === undefined) return { ...blank, note: "not separable" };
    const dbc = (power: number): number | null => (power > 0 ? decibels(power / tonePower) : null);
    const stands = measured.low > 0 && measured.power > 0;
    return {
      ...blank,
      level: stands ? dbc(measured.power) : null,
      low: dbc(measured.low),
      high: dbc(measured.high),
      note: stands ? "measured" : "below its noise",
    };
  });
}
