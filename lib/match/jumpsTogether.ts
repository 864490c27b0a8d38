import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { bent, withoutLines } from "./besideJumps.ts";
import { FALSE_ALARM } from "./context.ts";
import { jointPhases } from "./jointPhases.ts";
import { phasePieces, quietNoise } from "./phasePieces.ts";
import { type PhaseStep, wrap } from "./phaseSteps.ts";
import { apart, fitted, MARGIN, PRICE, placeOf, refined, type SettledJumps } from "./settledJumps.ts";
import { undistorted, withoutDistortion } from "./withoutDistortion.ts";

/** Share of what one sine leaves that the first pieces may leave. */
const COARSE = 0.25;
/** What is left for a record to be accounted for: noise of short windows, and codes for the converter's own curve, as mean squares. */
const ACCOUNTED = { noise: 1.25, codes: 0.4 };
/** What is left must fall at least by this factor. */
const LEAST_GAIN = 1.2;
/** Share of what is left that a frequency of each piece's own may take up: the phase of a tone between losses runs straight. */
const MOST_BENT = 0.3;
/** Trials of the frequency within what is stated, on either side. */
const MOST_DETUNINGS = 12;

/** A frequency that the tone may have: cycles per reading, and by how much it may be off. */
export interface Candidate {
  readonly cycles: number;
  readonly allowed: number;
}

/**
 * Jumps of phase found together, in a record that no one sine fits. The record is cut into the pieces that cost least (phasePieces), then one sine with harmonics is fitted with a phase
 * for each piece, jumps that do not stand out are taken back, and the rest must be worth more than chance gives: M·ln(rss₁/rss_K) above 2·ln M a jump and
 * 2·ln(1/FALSE_ALARM), rss₁ being left by one sine of any frequency, distortion and the converter's curve taken off both. A phase that wanders is no jump.
 * Cheap where the record needs no more: one fit of noise over short windows, and one with harmonics if that leaves doubt.
 * @param whole  one sine through the record; null where none stands out
 * @param known  jumps found one by one; kept where they account for the record
 * @returns null where these do, or no jumps account for the record better
 */
export function jumpsTogether(
  codes: Int32Array,
  whole: SineFit | null,
  known: readonly PhaseStep[],
  candidates: readonly Candidate[],
  usable: UsableCodes | null,
): PhaseStep[] | null {
  const quiet = Math.max(quietNoise(codes, candidates[0]!.cycles, usable), Math.sqrt(1 / 12));
  const accounts = (rss: number): boolean => rss / codes.length < ACCOUNTED.noise * quiet ** 2 + ACCOUNTED.codes ** 2;
  const start = whole === null ? null : undistorted(whole);
  if (known.length === 0 && start !== null && whole !== null) {
    if (accounts(whole.rss)) return null;
    // The converter's curve alone, before harmonics and drift beside it are fitted.
    if (accounts(withoutDistortion(codes, start, usable).rss)) return null;
  }
  const one = start === null ? null : jointPhases(codes, start, null, usable);
  const plain = one === null ? null : withoutDistortion(codes, one, usable);
  const rssOne = plain?.rss ?? whole?.rss ?? Number.POSITIVE_INFINITY;
  if (known.length === 0 && accounts(rssOne)) return null;
  const asKnown =
    known.length === 0
      ? null
      : fitted(codes, apart([0, ...known.map((step) => step.at)]), candidates.at(-1)!.cycles, null, usable);
  const before = asKnown === null ? null : withoutDistortion(codes, asKnown, usable).rss;
  if (before !== null && accounts(before)) return null;
  let best: { fit: SettledJumps; length: number; noise: number } | null = null;
  for (const { cycles, allowed } of candidates) {
    const noise = Math.max(quietNoise(codes, cycles, usable), Math.sqrt(1 / 12));
    if (!(noise > 0)) continue;
    const coarse = Math.max(noise, COARSE * Math.sqrt(rssOne / codes.length));
    const known = { cycles, standard: allowed, noise };
    let pieces = detunings(allowed, codes.length)
      .map((off) => phasePieces(codes, cycles + off, coarse, PRICE, usable))
      .reduce((a, b) => (b.cost < a.cost ? b : a));
    // Small jumps among large ones show at the noise's own price, unless distortion is cut in pieces then.
    for (const start of [coarse, Math.sqrt(coarse * noise), noise]) {
      if (start < coarse) pieces = phasePieces(codes, pieces.cycles, start, PRICE, usable);
      const fit = refined(codes, pieces, start, known, usable);
      if (
        fit !== null &&
        fit.starts.length > 1 &&
        (best === null || priced(fit, codes.length) < priced(best.fit, codes.length))
      )
        best = { fit, length: pieces.length, noise };
    }
  }
  if (best === null) return null;
  const { fit, noise } = best;
  if (before !== null && before < LEAST_GAIN * fit.rss) return null;
  const jumps = fit.starts.length - 1;
  const worth = codes.length * Math.log(rssOne / fit.rss);
  if (!(rssOne > LEAST_GAIN * fit.rss) || !(worth > 2 * jumps * Math.log(codes.length) - 2 * Math.log(FALSE_ALARM)))
    return null;
  if (bent(codes, fit, usable) > MOST_BENT * fit.rss) return null;
  if (one !== null && plain !== null && withoutLines(plain.readings, one) < LEAST_GAIN * fit.rss) return null;
  const variance = fit.rss / Math.max(1, fit.free);
  return fit.starts.slice(1).map((_, i) => {
    const { at, within } = placeOf(codes, fit, i + 1, best.length + MARGIN, noise);
    return {
      at,
      within,
      step: wrap(fit.phases[i + 1]! - fit.phases[i]!),
      standard: Math.sqrt(Math.max(variance, noise ** 2) * fit.jumpVariance[i]!),
    };
  });
}

/** What a fit leaves, with 2·ln M for each jump; lower is better. */
function priced(fit: SettledJumps, readings: number): number {
  return readings * Math.log(fit.rss) + 2 * (fit.starts.length - 1) * Math.log(readings);
}

/** Frequencies that are tried about one, a quarter of a cycle over the record apart. */
function detunings(allowed: number, readings: number): number[] {
  const step = 0.25 / readings;
  const side = Math.min(MOST_DETUNINGS, Math.floor(allowed / step));
  return Array.from({ length: 2 * side + 1 }, (_, i) => (i - side) * step);
}
