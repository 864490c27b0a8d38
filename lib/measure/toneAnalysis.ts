import type { SineFit } from "../signal/sineFit.ts";
import { fixedQuantisation } from "./noiseQuantisation.ts";
import { effectivePhases, type FoldedResidual, foldResidual } from "./toneFold.ts";
import {
  fitHarmonics,
  type HarmonicFit,
  type HarmonicLine,
  type HarmonicPlace,
  harmonicParts,
  harmonicPlaces,
} from "./toneHarmonics.ts";
import { type ToneLeakage, toneLeakage } from "./toneLeakage.ts";
import { foldedHarmonicSums, harmonicSums } from "./toneResidual.ts";
import { type ResidualScatter, residualScatter } from "./toneScatter.ts";
import { fitTogether, needsFittingTogether } from "./toneTogether.ts";

/** Up to here harmonics are summed straight from the readings, beyond from the phase bins. */
const DIRECT = 1 << 16;

/** Powers in LSB², and the variances that the record gives them. */
export interface ToneAnalysis {
  readonly fit: SineFit;
  readonly readings: number;
  /** A harmonic leaks so much into the tone that they were fitted together. */
  readonly together: boolean;
  /** A²/2, and its standard uncertainty. */
  readonly tonePower: number;
  readonly tonePowerSd: number;
  /** RSS/(M − p) of the sine fit. */
  readonly nad: number;
  readonly nadVariance: number;
  /** What M − p makes of distortion that the fit cannot have removed: the interval is about nad times this. */
  readonly nadCentre: number;
  readonly places: readonly HarmonicPlace[];
  readonly harmonics: HarmonicFit | null;
  /** Residual of tone and harmonics over its degrees of freedom; null when the record cannot tell them apart. */
  readonly noise: number | null;
  readonly noiseVariance: number;
  readonly scatter: ResidualScatter;
  readonly folded: FoldedResidual;
  /** What harmonics that are not fitted may do to those that are. */
  readonly leakage: ToneLeakage;
  /** Evenly spread phases that the record's are worth, at most M. */
  readonly phases: number;
  /** Share of the noise that may be the converter's own pattern, fixed by the phase: 0…1. */
  readonly pattern: number;
}

/**
 * Between the bins made up in full and not at all, as a standard deviation: near 1/√12 of the difference, widened to what simulated
 * converters needed.
 */
const MAKE_UP = 0.4;

/** More readings than this leave no gaps between phases that would matter, whatever the frequency. */
const DENSE = 4096;

/** Fewer readings than this leave too little beside 22 parameters. */
export const FEWEST_FOR_HARMONICS = 44;

/**
 * Everything that the tone metrics are made of, from one stretch of readings and the sine fitted to it.
 * Source: METHODS §2; IEEE Std 1241-2010 (NAD² = RSS/(M − p)).
 */
export function analyseTone(codes: Int32Array, alone: SineFit): ToneAnalysis {
  const readings = codes.length;
  let fit = alone;
  const places = harmonicPlaces(fit.cyclesPerReading, readings);
  let harmonics: HarmonicFit | null = null;
  let folded: FoldedResidual | null = null;
  let together = false;
  if (readings >= FEWEST_FOR_HARMONICS) {
    if (readings > DIRECT) folded = foldResidual(codes, fit);
    harmonics = fitHarmonics(fit, readings, places, folded ? foldedHarmonicSums(folded) : harmonicSums(codes, fit));
    const noise = harmonics && Math.max(0, fit.rss - harmonics.explained) / (readings - harmonics.parameters);
    if (harmonics && noise !== null && needsFittingTogether(harmonics, fit.cyclesPerReading, readings, noise)) {
      const better = fitTogether(codes, fit, harmonics, places);
      if (better) {
        ({ fit, harmonics } = better);
        together = true;
      }
    }
  }
  folded ??= foldResidual(codes, fit);
  const lines = harmonics?.lines ?? [];
  const scatter = residualScatter(folded, harmonicParts(lines));
  const tonePower = fit.amplitude ** 2 / 2;
  const nad = fit.rss / (readings - fit.parameters);
  const left = harmonics ? Math.max(0, fit.rss - harmonics.explained) : null;
  const phases = folded.repeats ? folded.bins : readings;
  const noise =
    left === null || harmonics === null ? null : madeUp(left, scatter, readings, phases, harmonics.parameters);
  const level = noise ?? nad;
  const squareVariance = squareVarianceOf(scatter, level, readings);
  const perLine = residualVarianceOf(scatter, level, readings);
  let distortion = 0;
  let crossed = 0;
  for (const line of lines) {
    const power = linePower(line, perLine);
    distortion += Math.max(0, power);
    // Var |a|²/2 = A²·var a: harmonic and noise multiply, which counts most where distortion dominates.
    crossed += Math.max(0, power) * perLine * line.spread * (line.atHalf ? 4 : 1);
  }
  const leakage = toneLeakage(fit.cyclesPerReading, readings, places, lines, (line) => linePower(line, perLine));
  const parameters = harmonics?.parameters ?? fit.parameters;
  // Fitted parameters follow the scatter: what is left of it is spread over fewer degrees of freedom. And how the bins that they cover are
  // to be made up is
  // a guess where the converter's own pattern (quantisation, and distortion above order 10, of which harmonics 2 to 10 give an idea) may be
  // most of what is left.
  const pattern = level > 0 ? Math.min(1, (1 / 12 + distortion) / level) : 0;
  // How many evenly spread phases the record's are worth, or how many it repeats.
  const worth = Math.min(phases, readings <= DENSE ? effectivePhases(fit.cyclesPerReading, readings) : readings);
  // Noise has smeared a quantiser's own pattern from σ = 0.3 on; then only distortion is fixed by the phase.
  const fixed =
    level > 0 ? Math.min(1, (fixedQuantisation(Math.sqrt(Math.max(0, level - 1 / 12))) + distortion) / level) : 0;
  const guess =
    MAKE_UP *
    level *
    parameters *
    Math.max(pattern / Math.max(1, readings - parameters), fixed / Math.max(1, worth - parameters));
  // Distortion of higher orders is seen only where the phases lie: clusters of them are worth fewer readings than there are.
  const clustered = Math.max(0, 2 / worth - 2 / phases);
  const unseen = clustered * Math.min(level, distortion) ** 2;
  // In the same cell as a harmonic, one that is not fitted adds to it or takes from it.
  lines.forEach((line, i) => {
    crossed += 4 * Math.max(0, linePower(line, perLine)) * leakage.intoLines[i]!;
  });
  const noiseVariance = squareVariance / Math.max(1, readings - parameters) + guess ** 2 + unseen;
  const nadVariance = squareVariance / Math.max(1, readings - fit.parameters) + crossed + unseen;
  const unexplained = level + distortion;
  const inflated = level + (distortion * readings) / (readings - fit.parameters);
  return {
    fit,
    readings,
    tonePower,
    tonePowerSd:
      fit.amplitude *
      Math.sqrt(perLine * (together && harmonics ? harmonics.toneSpread / 2 : 2 / readings) + leakage.intoTone),
    together,
    nad,
    nadVariance,
    nadCentre: inflated > 0 ? unexplained / inflated : 1,
    places,
    harmonics,
    noise,
    noiseVariance,
    scatter: { ...scatter, ofResidual: perLine, ofSquare: squareVariance },
    folded,
    leakage,
    phases: worth,
    pattern: fixed,
  };
}

/**
 * Mean square left beside tone and harmonics, made up for the bins that these cover. Only what is random from reading to reading filled
 * those bins (M − p of M), or,
 * for the pattern of a quantiser that is sampled at few phases, P − p of P; an error that is smooth in the tone's phase has its lines
 * elsewhere.
 */
function madeUp(left: number, scatter: ResidualScatter, readings: number, phases: number, parameters: number): number {
  const mean = left / readings;
  const total = scatter.meanSquare || 1;
  const pattern = Math.min(1, scatter.patterned / total);
  // Mean square successive differences of P phases scatter by √(3/P): a share that is not clearly below one is one.
  const seen = scatter.random / total + pattern;
  const random = seen < 1 - 2 * Math.sqrt(3 / phases) ? scatter.random / total : 1 - pattern;
  const smooth = Math.max(0, 1 - random - pattern);
  return (
    mean *
    (smooth + (random * readings) / (readings - parameters) + (pattern * phases) / Math.max(1, phases - parameters))
  );
}

/**
 * The analysis with noise that is worth fewer independent readings than white noise: variances of mean squares grow by `factor`, unless the
 * comparison of stretches of time asks for more.
 */
export function withColouredNoise(analysis: ToneAnalysis, factor: number): ToneAnalysis {
  const { scatter, readings, fit, harmonics } = analysis;
  const independent = scatter.ofSquare - scatter.slow;
  const extra = factor * independent - scatter.ofSquare;
  if (!(extra > 0)) return analysis;
  return {
    ...analysis,
    nadVariance: analysis.nadVariance + extra / (readings - fit.parameters),
    noiseVariance: analysis.noiseVariance + extra / Math.max(1, readings - (harmonics?.parameters ?? fit.parameters)),
    scatter: { ...scatter, ofSquare: scatter.ofSquare + extra, slow: scatter.slow + extra },
  };
}

/** Power of a harmonic, freed of the noise that its components hold on average. */
export function linePower(line: HarmonicLine, perReading: number): number {
  const seen = line.a ** 2 + line.b ** 2;
  return line.atHalf ? seen - perReading * line.spread : (seen - perReading * line.spread) / 2;
}

/** Fewer readings than this say less about their own fourth moment than the shape of noise with quantisation does. */
const FEW = 256;
/**
 * How many readings this prior knowledge counts for in a record of FEW readings, in the fourth moment and in the scatter from phase to
 * phase; less in longer ones.
 */
const SHAPE_WEIGHT = 600;
const SCATTER_WEIGHT = 100;

function squareVarianceOf(scatter: ResidualScatter, level: number, readings: number): number {
  // Gaussian noise with the uniform error of one code: κ₄ = −1.2·u², so that Var r² = 2s⁴ − 1.2·u².
  const uniform = Math.min(level, 1 / 12);
  const shape = 2 * level * level - 1.2 * uniform * uniform;
  const own = scatter.ofSquare - scatter.slow;
  return (readings < FEW ? shape : blend(shape, own, SHAPE_WEIGHT, readings)) + scatter.slow;
}

function residualVarianceOf(scatter: ResidualScatter, level: number, readings: number): number {
  if (readings < FEW) return level;
  return blend(level, scatter.ofResidual, SCATTER_WEIGHT, readings);
}

function blend(prior: number, own: number, weight: number, readings: number): number {
  const counts = (weight * FEW) / readings;
  return (counts * prior + readings * own) / (counts + readings);
}
