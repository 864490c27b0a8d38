import type { Scale } from "../bench/scale.ts";
import type { Hertz } from "../bench/units.ts";
import type { Harmonic, SpectrumCurve } from "./measurement.ts";
import { linePower, type ToneAnalysis } from "./toneAnalysis.ts";
import { decibels } from "./toneInterval.ts";
import type { ToneSpectrum } from "./toneSpectrum.ts";

/** Below any converter's reach; bins that hold nothing at all are drawn here. */
const NOTHING = -300;

/** Power of a sine that spans the full-scale range, LSB². */
export function fullScalePower(scale: Scale): number {
  return (2 ** scale.bits) ** 2 / 8;
}

/** The spectrum for plot and table, dBFS: the residual's bins, with tone and harmonics put back as lines in the bins nearest to them. */
export function spectrumCurve(
  scale: Scale,
  analysis: ToneAnalysis,
  spectrum: ToneSpectrum,
  harmonics: readonly Harmonic[],
  rate: Hertz | null,
): SpectrumCurve {
  const full = fullScalePower(scale);
  const { fit, tonePower, noise, nad, readings, scatter } = analysis;
  const { residual, length, segments, window, noiseBandwidth } = spectrum;
  const power = residual.slice();
  const add = (cyclesPerReading: number, line: number): void => {
    const bin = Math.min(power.length - 1, Math.round(cyclesPerReading * length));
    power[bin]! += Math.max(0, line);
  };
  add(fit.cyclesPerReading, tonePower);
  for (const line of analysis.harmonics?.lines ?? []) add(line.frequency, linePower(line, scatter.ofResidual));
  const level = power.map((p) => (p > 0 ? Math.max(NOTHING, decibels(p / full)) : NOTHING));
  const perReading = rate ?? 1;
  const broad = noise ?? nad;
  const dbfs = (p: number): number => (p > 0 ? Math.max(NOTHING, decibels(p / full)) : NOTHING);
  return {
    level,
    binWidth: perReading / length,
    inHertz: rate !== null,
    window,
    segments,
    fundamental: { frequency: fit.cyclesPerReading * perReading, level: dbfs(tonePower) },
    harmonics,
    noiseFloorPerBin: dbfs((2 * broad) / readings),
    drawnFloor: dbfs((2 * broad * noiseBandwidth) / length),
  };
}
