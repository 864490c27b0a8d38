import { kernels } from "../kernels/kernels.generated.js";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import {
  fitHarmonics,
  type HarmonicFit,
  type HarmonicLine,
  type HarmonicPlace,
  harmonicParts,
} from "./toneHarmonics.ts";
import { harmonicSums } from "./toneResidual.ts";

/** Resolution cells from DC within which a harmonic pulls at the offset and through it at the tone. */
const BESIDE_DC = 4;
/** In longer records harmonics of a usual tone lie too far off to matter. */
const LONGEST = 4096;
/** A harmonic must stand out of its noise, in variances of its two components, before it is worth freeing the tone from it. */
const STANDS_OUT = 12;
/** Share of the tone's own standard uncertainty that may leak into it. */
const HARMLESS = 0.3;
const ROUNDS = 5;

/**
 * Whether a harmonic that stands out leaks into a sine fitted alone: its amplitude over π times its distance in resolution cells, against
 * the uncertainty of the tone's amplitude.
 * @param noise  mean square of what is left beside tone and harmonics
 */
export function needsFittingTogether(harmonics: HarmonicFit, tone: number, readings: number, noise: number): boolean {
  if (readings > LONGEST) return false;
  const allowed = HARMLESS * Math.sqrt((2 * noise) / readings);
  return harmonics.lines.some((l) => {
    const power = l.a ** 2 + l.b ** 2;
    if (power <= STANDS_OUT * noise * l.spread) return false;
    const cells = Math.abs(l.frequency - tone) * readings;
    return l.frequency * readings < BESIDE_DC || Math.sqrt(power) / (Math.PI * Math.max(0.5, cells)) > allowed;
  });
}

/**
 * Tone and harmonics fitted together, the tone's frequency among the unknowns: harmonics taken off, the sine fitted again, harmonics
 * corrected, round by round.
 * @returns the tone with its own residual (harmonics left in, so that NAD² = RSS/(M − p) keeps its meaning), and the harmonics; null when a
 *   round finds no fit
 */
export function fitTogether(
  codes: Int32Array,
  alone: SineFit,
  first: HarmonicFit,
  places: readonly HarmonicPlace[],
): { readonly fit: SineFit; readonly harmonics: HarmonicFit } | null {
  const readings = codes.length;
  let fit = alone;
  let harmonics = first;
  let lines: readonly HarmonicLine[] = first.lines;
  for (let round = 0; round < ROUNDS; round++) {
    const without = kernels.besideHarmonics(codes, fit.cyclesPerReading, harmonicParts(lines));
    const again = fitSine(without, { frequency: fit.cyclesPerReading, fixed: fit.parameters === 3 });
    if (again === null) return null;
    const correction = fitHarmonics(again, readings, places, harmonicSums(without, again));
    if (correction === null || correction.lines.length !== lines.length) return null;
    fit = again;
    harmonics = correction;
    lines = lines.map((line, i) => ({
      ...correction.lines[i]!,
      a: line.a + correction.lines[i]!.a,
      b: line.b + correction.lines[i]!.b,
    }));
  }
  const without = kernels.besideHarmonics(codes, fit.cyclesPerReading, harmonicParts(lines));
  let rss = 0;
  let left = 0;
  for (let n = 0; n < readings; n++) {
    const turns = fit.cyclesPerReading * n;
    const tone = fit.offset + fit.amplitude * Math.cos(2 * Math.PI * (turns - Math.floor(turns)) + fit.phase);
    rss += (codes[n]! - tone) ** 2;
    left += (without[n]! - tone) ** 2;
  }
  return {
    fit: { ...fit, rss, residualRms: Math.sqrt(rss / (readings - fit.parameters)) },
    harmonics: { ...harmonics, lines, explained: rss - left },
  };
}
