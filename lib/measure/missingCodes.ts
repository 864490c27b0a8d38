import { chiSquareQuantile } from "../signal/distributions.ts";
import { normalQuantile } from "../signal/normal.ts";
import { noiseCorrelation, type Transitions } from "./transitions.ts";

/** A code narrower than this is missing: DNL ≤ −0.9. */
const NARROW = 0.1;

export interface MissingCodes {
  /** Surely missing: the record was long enough to have seen them. */
  readonly missing: readonly number[];
  /** May be missing: this record cannot tell. */
  readonly possiblyMissing: readonly number[];
}

/**
 * Codes that never come although the input passed over them. A code is called missing only where the upper bound of its width lies below 0.1 LSB: where the readings
 * were so dense that a code of 0.1 LSB would have been seen more often than this one was.
 * @param counts   readings of each code
 * @param gain     G, so that widths are those of DNL
 * Source: DESIGN §4 (DNL ≤ −0.9); METHODS 5; Garwood 1936 for the count's upper bound.
 */
export function missingCodes(tr: Transitions, counts: Float64Array, gain: number): MissingCodes {
  const { first, inputs, noise, gap, density, sigma } = tr;
  const last = inputs.length - 1;
  const narrow: number[] = [];
  for (let i = 0; i < last; i++) if (gain * (inputs[i + 1]! - inputs[i]!) < 0.5) narrow.push(i);
  // A false call can only come from the narrow codes, so the level is shared among them.
  const level = 0.025 / Math.max(1, narrow.length);
  const zCall = normalQuantile(1 - level);
  const missing: number[] = [];
  const possiblyMissing: number[] = [];
  const rho = noiseCorrelation(NARROW, sigma);
  // Garwood's upper bound of a count, the same for every code that came as often.
  const bounds = new Map<number, number>();
  const mostExpected = (h: number): number => {
    const known = bounds.get(h) ?? chiSquareQuantile(1 - level, 2 * (h + 1)) / 2;
    bounds.set(h, known);
    return known;
  };
  for (let i = 0; i < last; i++) {
    const width = gain * (inputs[i + 1]! - inputs[i]!);
    const gaps = (gap[i]! ** 2 + gap[i + 1]! ** 2) / 3;
    // The scatter that a code of 0.1 LSB would have.
    const scatter = Math.sqrt((1 - rho) * (noise[i]! ** 2 + noise[i + 1]! ** 2) + gaps);
    const h = counts[first + i]!;
    const mean = (NARROW / gain) * density[i]!;
    // Too few readings for a code of 0.1 LSB: chance of at most h where `mean` were expected. Noise only makes counts more even than Poisson's.
    const byCount = mean > h && mean > mostExpected(h);
    const byWidth = NARROW - width > zCall * scatter && gap[i]! + gap[i + 1]! < NARROW;
    if (byCount || byWidth) missing.push(first + i);
    else if (width - 1.96 * scatter <= NARROW) possiblyMissing.push(first + i);
  }
  return { missing, possiblyMissing };
}
