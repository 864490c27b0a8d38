import type { FoldedResidual } from "./toneFold.ts";

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
 * @param harmonic  the harmonics' value at a phase (cycles at the record's centre), to be taken off r
 * Source: von Neumann, "Distribution of the ratio of the mean square successive difference to the variance", Ann. Math. Stat. 12(4), 1941,
 *   applied in order of phase (the split is ours).
 */
export function residualScatter(folded: FoldedResidual, harmonic: (cycles: number) => number): ResidualScatter {
  const { bins, moments, shift } = folded;
  const n = new Float64Array(bins);
  const r = new Float64Array(bins);
  const q = new Float64Array(bins);
  const place = new Int32Array(bins).fill(-1);
  let groups = 0;
  let readings = 0;
  let sumQ = 0;
  let sumQQ = 0;
  let withinR = 0;
  let withinQ = 0;
  for (let i = 0; i < bins; i++) {
    const k = moments[5 * i]!;
    if (k === 0) continue;
    const [s1, s2, s3, s4] = [moments[5 * i + 1]!, moments[5 * i + 2]!, moments[5 * i + 3]!, moments[5 * i + 4]!];
    // The harmonics' value m is taken off after the fact: Σ(r − m)² and Σ(r − m)⁴ from the moments of r.
    const m = harmonic(i / bins + shift);
    const r1 = s1 - k * m;
    const q1 = s2 - 2 * m * s1 + k * m * m;
    const q2 = s4 - 4 * m * s3 + 6 * m * m * s2 - 4 * m ** 3 * s1 + k * m ** 4;
    place[i] = groups;
    n[groups] = k;
    r[groups] = r1 / k;
    q[groups] = q1 / k;
    withinR += q1 - (r1 * r1) / k;
    withinQ += q2 - (q1 * q1) / k;
    readings += k;
    sumQ += q1;
    sumQQ += q2;
    groups++;
  }
  const meanSquare = sumQ / readings;
  // Stretches of phase that hold many phases each: what differs within one is all there is to know.
  const unresolved = !folded.repeats && readings >= 4 * bins;
  const within = readings - groups;
  let ofResidual = unresolved ? withinR / within : gridVariance(r, n, groups, folded.repeats);
  let ofSquare = unresolved ? withinQ / within : gridVariance(q, n, groups, folded.repeats);
  // A phase that the record returns to shows what is random; what its mean differs by from its neighbours' is the converter's own pattern.
  const revisits = folded.repeats && readings >= 2 * groups;
  const random = revisits ? withinR / within : ofResidual;
  const patterned = revisits ? Math.max(0, ofResidual - random) * (groups / readings) : 0;
  // Cancellation in the moments can leave a little less than nothing.
  ofResidual = Math.max(0, ofResidual) * (1 + alikeAcross(r, place, -1));
  ofSquare = Math.max(0, ofSquare) * (1 + alikeAcross(q, place, 1));
  // χ²(dof)/dof at 99 % by Wilson and Hilferty's cube.
  const dof = (folded.time?.blocks ?? 0) - 1;
  const limit = (1 - 2 / (9 * dof) + 2.326 * Math.sqrt(2 / (9 * dof))) ** 3;
  const between = blockVariance(folded, harmonic);
  const plain = Math.max(ofSquare, sumQQ / readings - meanSquare * meanSquare);
  const slow = between > limit * plain ? between - plain : 0;
  return { ofResidual, ofSquare: ofSquare + slow, slow, meanSquare, random, patterned };
}

function gridVariance(values: Float64Array, n: Float64Array, groups: number, even: boolean): number {
  if (groups < 4) return 0;
  let one = 0;
  let two = 0;
  for (let i = 0; i < groups; i++) {
    const j = (i + 1) % groups;
    const k = (i + 2) % groups;
    one += (((n[i]! * n[j]!) / (n[i]! + n[j]!)) * (values[i]! - values[j]!) ** 2) / groups;
    two += (((n[i]! * n[k]!) / (n[i]! + n[k]!)) * (values[i]! - values[k]!) ** 2) / groups;
  }
  // Uneven gaps, as a non-coherent record has them, sample a step less well than an even grid.
  return one - (even ? 2 / 3 : 1 / 3) * Math.max(0, Math.min(one, two - one));
}

/**
 * How far values half a cycle apart are alike (sign 1) or opposite (sign −1): a symmetric converter about the tone's middle makes the same
 * error twice, and then half as
 * many readings count. 0…1; 0 where it is not significant.
 */
function alikeAcross(values: Float64Array, place: Int32Array, sign: 1 | -1): number {
  const half = place.length / 2;
  if (!Number.isInteger(half)) return 0;
  let mean = 0;
  let pairs = 0;
  for (let i = 0; i < half; i++) {
    if (place[i]! < 0 || place[i + half]! < 0) continue;
    mean += values[place[i]!]! + values[place[i + half]!]!;
    pairs++;
  }
  if (pairs < 32) return 0;
  mean /= 2 * pairs;
  let together = 0;
  let squares = 0;
  for (let i = 0; i < half; i++) {
    if (place[i]! < 0 || place[i + half]! < 0) continue;
    const a = values[place[i]!]! - mean;
    const b = values[place[i + half]!]! - mean;
    together += a * b;
    squares += (a * a + b * b) / 2;
  }
  const correlation = squares > 0 ? (sign * together) / squares : 0;
  return correlation > 3 / Math.sqrt(pairs) ? Math.min(1, correlation) : 0;
}

/**
 * Variance per reading of the means of r² over stretches of time. Well above the plain variance it shows noise that swells, drifts, or
 * keeps its sign for long (mains, 1/f). What the tone's phase explains is taken out first, so that a converter's own error does not look
 * like change.
 */
function blockVariance({ time, shift }: FoldedResidual, harmonic: (cycles: number) => number): number {
  if (time === null) return 0;
  const { blocks, phases, sums } = time;
  const q = new Float64Array(blocks * phases);
  const expected = new Float64Array(phases);
  let readings = 0;
  for (let p = 0; p < phases; p++) {
    // The bins begin half a fine bin early; the coarse bin's middle is half its width on.
    const m = harmonic((p + 0.5) / phases + shift);
    let sum = 0;
    let number = 0;
    for (let b = 0; b < blocks; b++) {
      const i = b * phases + p;
      const count = sums[3 * i]!;
      q[i] = sums[3 * i + 2]! - 2 * m * sums[3 * i + 1]! + count * m * m;
      sum += q[i]!;
      number += count;
    }
    expected[p] = number > 0 ? sum / number : 0;
    readings += number;
  }
  const length = readings / blocks;
  let between = 0;
  for (let b = 0; b < blocks; b++) {
    let difference = 0;
    for (let p = 0; p < phases; p++) difference += q[b * phases + p]! - sums[3 * (b * phases + p)]! * expected[p]!;
    between += (difference * difference) / length / (blocks - 1);
  }
  between *= readings / Math.max(1, readings - phases);
  return between;
}
