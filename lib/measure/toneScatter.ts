import { kernels } from "../kernels/kernels.generated.js";
import type { FoldedResidual } from "./toneFold.ts";
import type { HarmonicParts } from "./toneHarmonics.ts";

/** What the residual's scatter says, once the harmonics are known. */
export interface ResidualScatter {
  /** Variance per reading that the mean of r (and so each harmonic) has, and the same of r², the sampling of the phases counted. */
  readonly ofResidual: number;
  readonly ofSquare: number;
  /** Part of ofSquare that comes from slow changes over the record; 0 when none is significant. */
  readonly slow: number;
  readonly meanSquare: number;
  /**
   * Of meanSquare, what differs from reading to reading at one and the same phase, and what differs from phase to neighbouring phase; the
   * rest is smooth in the phase.
   */
  readonly random: number;
  readonly patterned: number;
}

/**
 * The variance of means over a record whose readings are ordered by the phase of its tone.
 * Plain scatter/M is wrong for what is fixed by the phase: a quantiser's error is sampled on a grid of phases, and a mean over such a grid
 * errs far less than a mean of as many random draws as soon as neighbours in phase fall into the same code. With D₁, D₂ half the mean
 * square difference of neighbours one and two apart, noise alone gives D₁ = D₂, steps met by a fine grid give D₂ = 2·D₁; between the two
 * it is linear. Of a single step's share of D₁ a sixth is real (its place within the gap is uniform: J²/12 against the J²/2 that D₁
 * counts); a third is kept for an even grid and two thirds for an uneven one, because steps on the two slopes of the tone err together.
 * @param harmonics  to be taken off r, their phases counted from the record's centre
 * Source: von Neumann, "Distribution of the ratio of the mean square successive difference to the variance", Ann. Math. Stat. 12(4), 1941,
 *   applied in order of phase (the split is ours).
 */
export function residualScatter(folded: FoldedResidual, harmonics: HarmonicParts): ResidualScatter {
  const { bins, moments, shift, repeats, time } = folded;
  const seen = kernels.phaseScatter(moments, shift, repeats, harmonics);
  const { readings, groups } = seen;
  const meanSquare = seen.sumQ / readings;
  // Stretches of phase that hold many phases each: what differs within one is all there is to know.
  const unresolved = !repeats && readings >= 4 * bins;
  const within = readings - groups;
  let ofResidual = unresolved ? seen.withinR / within : seen.gridR;
  let ofSquare = unresolved ? seen.withinQ / within : seen.gridQ;
  // A phase that the record returns to shows what is random; what its mean differs by from its neighbours' is the converter's own pattern.
  const revisits = repeats && readings >= 2 * groups;
  const random = revisits ? seen.withinR / within : ofResidual;
  const patterned = revisits ? Math.max(0, ofResidual - random) * (groups / readings) : 0;
  // Cancellation in the moments can leave a little less than nothing.
  ofResidual = Math.max(0, ofResidual) * (1 + seen.oppositeR);
  ofSquare = Math.max(0, ofSquare) * (1 + seen.alikeQ);
  // χ²(dof)/dof at 99 % by Wilson and Hilferty's cube.
  const dof = (time?.blocks ?? 0) - 1;
  const limit = (1 - 2 / (9 * dof) + 2.326 * Math.sqrt(2 / (9 * dof))) ** 3;
  // Well above the plain variance, that of stretches of time shows noise that swells, drifts, or keeps its sign for long (mains, 1/f). What the tone's phase explains is
  // taken out first, so that a converter's own error does not look like change.
  const between = time === null ? 0 : kernels.blockVariance(time.sums, time.blocks, shift, harmonics);
  const plain = Math.max(ofSquare, seen.sumQQ / readings - meanSquare * meanSquare);
  const slow = between > limit * plain ? between - plain : 0;
  return { ofResidual, ofSquare: ofSquare + slow, slow, meanSquare, random, patterned };
}
