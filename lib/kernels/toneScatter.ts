import { Harmonics, harmonicValue } from "./harmonics";

/** Scatter of a tone's residual r, and of q = r², its harmonics taken off: within bins of phase, from bin to bin, and across half a cycle. */
export class PhaseScatter {
  readings: f64 = 0;
  /** Bins that hold readings. */
  groups: i32 = 0;
  sumQ: f64 = 0;
  sumQQ: f64 = 0;
  /** Σ of squares about the bins' own means. */
  withinR: f64 = 0;
  withinQ: f64 = 0;
  /** Variance per reading of a mean, from the differences of neighbouring bins. */
  gridR: f64 = 0;
  gridQ: f64 = 0;
  /** How far r is opposite and r² alike half a cycle apart, 0…1. */
  oppositeR: f64 = 0;
  alikeQ: f64 = 0;
}

/**
 * @param moments  as foldReadings fills them
 * @param shift    phase of bin 0's middle, cycles
 * @param even     bins hold single phases, evenly spread
 */
export function phaseScatter(moments: Float64Array, shift: f64, even: bool, harmonics: Harmonics): PhaseScatter {
  const bins = moments.length / 5;
  const n = new Float64Array(bins);
  const r = new Float64Array(bins);
  const q = new Float64Array(bins);
  const place = new Int32Array(bins);
  const scatter = new PhaseScatter();
  let groups = 0;
  for (let i = 0; i < bins; i++) {
    place[i] = -1;
    const k = unchecked(moments[5 * i]);
    if (k === 0) continue;
    const s1 = unchecked(moments[5 * i + 1]);
    const s2 = unchecked(moments[5 * i + 2]);
    const s3 = unchecked(moments[5 * i + 3]);
    const s4 = unchecked(moments[5 * i + 4]);
    // The harmonics' value m is taken off after the fact: Σ(r − m)² and Σ(r − m)⁴ from the moments of r.
    const m = harmonicValue(harmonics, <f64>i / bins + shift);
    const r1 = s1 - k * m;
    const q1 = s2 - 2 * m * s1 + k * m * m;
    const q2 = s4 - 4 * m * s3 + 6 * m * m * s2 - 4 * m * m * m * s1 + k * m * m * m * m;
    place[i] = groups;
    unchecked((n[groups] = k));
    unchecked((r[groups] = r1 / k));
    unchecked((q[groups] = q1 / k));
    scatter.withinR += q1 - (r1 * r1) / k;
    scatter.withinQ += q2 - (q1 * q1) / k;
    scatter.readings += k;
    scatter.sumQ += q1;
    scatter.sumQQ += q2;
    groups++;
  }
  scatter.groups = groups;
  scatter.gridR = gridVariance(r, n, groups, even);
  scatter.gridQ = gridVariance(q, n, groups, even);
  scatter.oppositeR = alikeAcross(r, place, -1);
  scatter.alikeQ = alikeAcross(q, place, 1);
  return scatter;
}

function gridVariance(values: Float64Array, n: Float64Array, groups: i32, even: bool): f64 {
  if (groups < 4) return 0;
  if (values.length < groups || n.length < groups) unreachable();
  let one: f64 = 0;
  let two: f64 = 0;
  for (let i = 0; i < groups; i++) {
    // The next two on the circle.
    const j = i + 1 < groups ? i + 1 : 0;
    const k = j + 1 < groups ? j + 1 : 0;
    const value = unchecked(values[i]);
    const d1 = value - unchecked(values[j]);
    const d2 = value - unchecked(values[k]);
    const ni = unchecked(n[i]);
    const nj = unchecked(n[j]);
    const nk = unchecked(n[k]);
    one += (((ni * nj) / (ni + nj)) * (d1 * d1)) / groups;
    two += (((ni * nk) / (ni + nk)) * (d2 * d2)) / groups;
  }
  // Uneven gaps, as a non-coherent record has them, sample a step less well than an even grid.
  const real: f64 = even ? 2.0 / 3.0 : 1.0 / 3.0;
  return one - real * max<f64>(0, min<f64>(one, two - one));
}

/**
 * How far values half a cycle apart are alike (sign 1) or opposite (sign −1): a symmetric converter about the tone's middle makes the same
 * error twice, and then half as many readings count. 0…1; 0 where it is not significant.
 */
function alikeAcross(values: Float64Array, place: Int32Array, sign: f64): f64 {
  if (place.length % 2 !== 0) return 0;
  const half = place.length / 2;
  let mean: f64 = 0;
  let pairs: f64 = 0;
  for (let i = 0; i < half; i++) {
    if (place[i] < 0 || place[i + half] < 0) continue;
    mean += values[place[i]] + values[place[i + half]];
    pairs += 1;
  }
  if (pairs < 32) return 0;
  mean /= 2 * pairs;
  let together: f64 = 0;
  let squares: f64 = 0;
  for (let i = 0; i < half; i++) {
    if (place[i] < 0 || place[i + half] < 0) continue;
    const a = values[place[i]] - mean;
    const b = values[place[i + half]] - mean;
    together += a * b;
    squares += (a * a + b * b) / 2;
  }
  const correlation = squares > 0 ? (sign * together) / squares : 0;
  return correlation > 3 / sqrt<f64>(pairs) ? min<f64>(1, correlation) : 0;
}

/**
 * Variance per reading of the means of r² over stretches of time, what the tone's phase explains taken out.
 * @param sums    Σ 1, Σ r and Σ r² as foldReadings fills them
 * @param blocks  stretches of time
 */
export function blockVariance(sums: Float64Array, blocks: i32, shift: f64, harmonics: Harmonics): f64 {
  const phases = sums.length / 3 / blocks;
  const q = new Float64Array(blocks * phases);
  const expected = new Float64Array(phases);
  let readings: f64 = 0;
  for (let p = 0; p < phases; p++) {
    // The bins begin half a fine bin early; the coarse bin's middle is half its width on.
    const m = harmonicValue(harmonics, (<f64>p + 0.5) / phases + shift);
    let sum: f64 = 0;
    let number: f64 = 0;
    for (let b = 0; b < blocks; b++) {
      const i = b * phases + p;
      const count = sums[3 * i];
      q[i] = sums[3 * i + 2] - 2 * m * sums[3 * i + 1] + count * m * m;
      sum += q[i];
      number += count;
    }
    expected[p] = number > 0 ? sum / number : 0;
    readings += number;
  }
  const length = readings / blocks;
  let between: f64 = 0;
  for (let b = 0; b < blocks; b++) {
    let difference: f64 = 0;
    for (let p = 0; p < phases; p++) difference += q[b * phases + p] - sums[3 * (b * phases + p)] * expected[p];
    between += (difference * difference) / length / (blocks - 1);
  }
  return between * (readings / max<f64>(1, readings - phases));
}
