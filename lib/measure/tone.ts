import type { MatchedRecord } from "../match/matched.ts";
import type { Random } from "../signal/random.ts";
import type { Measurement } from "./measurement.ts";
import { analyseTone, withColouredNoise } from "./toneAnalysis.ts";
import { toneEstimates, unmeasured } from "./toneEstimates.ts";
import { routesFinding, sourceFinding } from "./toneFindings.ts";
import { harmonicTable, measureDistortion } from "./toneHarmonicTable.ts";
import { colouredness, toneSpectrum } from "./toneSpectrum.ts";
import { spectrumCurve } from "./toneSpectrumCurve.ts";
import { largestSpur } from "./toneSpurs.ts";
import { clusteredPhases, fewPhases, toneStretch } from "./toneStretch.ts";

/** A quiet quantiser that is met at fewer phases shows too little of its error. */
const FEWEST_PHASES = 16;
/** LSB²: from here noise has spread the quantisation error evenly, but for a hundredth. */
const DITHERED = 0.15;
/** Share of what is left beside tone and harmonics that may be the converter's own error, from where its phases matter. */
const PATTERNED = 0.3;

/**
 * Measures a sine capture: SINAD, ENOB, SNR, THD, SFDR, level and noise floor, the table of harmonics, the spectrum and the fit.
 * The time-domain fit is the first route (no record length and no leakage matters to it); the spectrum is the second, and they are
 * compared.
 * @param record  a matched record whose stimulus is a sine
 * Source: IEEE Std 1241-2010, sine-wave tests; METHODS §2.
 */
export function measureTone(record: MatchedRecord, _random: Random): Measurement {
  const chosen = toneStretch(record);
  if (chosen.reason !== null) return { estimates: unmeasured(chosen.reason), curves: {}, findings: [] };
  const { codes, stretch } = chosen;
  const white = analyseTone(codes, chosen.fit);
  const { folded, scatter } = white;
  // Noise that spreads each phase over several codes makes up for few phases; a quiet record's quantisation shows only where it is met.
  if (folded.repeats && folded.bins < FEWEST_PHASES && scatter.random < DITHERED)
    return { estimates: unmeasured(fewPhases(folded.bins, FEWEST_PHASES)), curves: {}, findings: [] };
  if (white.phases < FEWEST_PHASES && white.pattern > PATTERNED)
    return { estimates: unmeasured(clusteredPhases(white.phases, FEWEST_PHASES)), curves: {}, findings: [] };
  const spectrum = toneSpectrum(codes, white);
  const analysis = withColouredNoise(white, colouredness(spectrum));
  const { fit } = analysis;
  const spur = largestSpur(spectrum, fit.cyclesPerReading);
  const distortion = measureDistortion(analysis, spectrum);
  const rate = record.sampleRate?.value ?? null;
  const findings = [
    sourceFinding(record, analysis.tonePower, distortion ?? { value: null, high: null }, analysis.noise),
    routesFinding(analysis, spectrum),
  ].filter((f) => f !== null);
  const turns = fit.cyclesPerReading * stretch[0];
  return {
    estimates: toneEstimates(record, stretch, analysis, spectrum, distortion, spur),
    curves: {
      spectrum: spectrumCurve(record.scale, analysis, spectrum, harmonicTable(analysis, distortion, rate ?? 1), rate),
      fit: {
        cyclesPerReading: fit.cyclesPerReading,
        amplitude: fit.amplitude,
        offset: fit.offset,
        // Back from the stretch's first reading to the record's.
        phase: wrapped(fit.phase - 2 * Math.PI * (turns - Math.floor(turns))),
        readingPeriod: rate === null ? null : 1 / rate,
      },
    },
    findings,
  };
}

function wrapped(angle: number): number {
  const turned = angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
  return turned <= -Math.PI ? turned + 2 * Math.PI : turned;
}
