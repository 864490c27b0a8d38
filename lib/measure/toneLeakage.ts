import { foldedFrequency } from "../match/foldedFrequency.ts";
import { type HarmonicLine, type HarmonicPlace, HIGHEST_ORDER } from "./toneHarmonics.ts";

/** What harmonics that were not fitted may do to what was. Powers in LSB². */
export interface ToneLeakage {
  /** Variance that they add to each of the tone's two components. */
  readonly intoTone: number;
  /** The same for each fitted harmonic, in their order. */
  readonly intoLines: readonly number[];
  /** Power of harmonics 2 to 10 that a lower one was to stand for, and that its line has not taken up: it lies in the noise and is missing from the distortion. */
  readonly shared: number;
  /** Power of harmonics beside DC or the tone that these have not taken up: it lies in the noise. */
  readonly hidden: number;
}

/** Orders that are looked at; beyond, a converter's static error has hardly a line left that would count. */
const LAST = 40;
/** The typical power is that of orders about the middle of 4…10; higher ones fall off as the lines of a random walk do, as 1/h². */
const MIDDLE = 8;

/**
 * Harmonics that coincide nearly, hide, or are of an order above 10 are not fitted, but they are there. Where phases lie in clusters, as they do near simple ratios of
 * frequency to rate, they lie in the very resolution cells of those that are fitted. How strong they are is taken from fitted ones of order 4 and more: nothing
 * for a converter with a smooth error, as much as its neighbours for one whose error wanders from code to code.
 * @param power  of each line, freed of its noise
 */
export function toneLeakage(
  cyclesPerReading: number,
  readings: number,
  places: readonly HarmonicPlace[],
  lines: readonly HarmonicLine[],
  power: (line: HarmonicLine) => number,
): ToneLeakage {
  const high = lines.filter((l) => l.order >= 4);
  const of = high.length > 0 ? high : lines;
  const typical = of.reduce((sum, l) => sum + Math.max(0, power(l)), 0) / Math.max(1, of.length);
  const strength = (order: number): number => typical * Math.min(1, (MIDDLE / order) ** 2);
  const others: { order: number; frequency: number }[] = places.filter((p) => p.state !== "kept");
  for (let order = HIGHEST_ORDER + 1; order <= LAST; order++)
    others.push({ order, frequency: foldedFrequency(order * cyclesPerReading) });
  const share = (distance: number): number => overlap(distance, readings);
  const into = (frequency: number): number =>
    others.reduce((sum, o) => sum + strength(o.order) * share(o.frequency - frequency), 0);
  const left = (state: HarmonicPlace["state"]): number =>
    places
      .filter((p) => p.state === state)
      .reduce((sum, p) => {
        const taken = Math.max(
          share(p.frequency),
          share(p.frequency - cyclesPerReading),
          ...lines.map((l) => share(p.frequency - l.frequency)),
        );
        return sum + strength(p.order) * (1 - taken);
      }, 0);
  return {
    intoTone: into(cyclesPerReading),
    intoLines: lines.map((l) => into(l.frequency)),
    shared: left("shared"),
    hidden: left("hidden"),
  };
}

/** Share of a line's power that a fitted line at this distance (cycles per reading) takes up. */
function overlap(distance: number, readings: number): number {
  const s = Math.sin(Math.PI * distance);
  if (Math.abs(s) * readings < 1e-6) return 1;
  return (Math.sin(Math.PI * distance * readings) / (readings * s)) ** 2;
}
