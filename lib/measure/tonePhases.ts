import type { SineFit } from "../signal/sineFit.ts";

/** A tone's residual sorted by the phase of the tone: moments of r in bins of phase, and in stretches of time. */
export interface FoldedResidual {
  readonly bins: number;
  /** Bins hold single phases that the record returns to (coherent), not stretches of phase. */
  readonly repeats: boolean;
  /** Phase of bin 0's middle at the record's centre, in cycles. */
  readonly shift: number;
  readonly count: Float64Array;
  /** Σ r, Σ r², Σ r³, Σ r⁴ by bin. */
  readonly s1: Float64Array;
  readonly s2: Float64Array;
  readonly s3: Float64Array;
  readonly s4: Float64Array;
  /** null when the record is too short, or a stretch of it visits too few phases, for stretches to be alike. */
  readonly time: TimeBlocks | null;
}

/**
 * Σ 1, Σ r and Σ r² by stretch of time and coarse bin of phase, [stretch·phases + phase]: what the tone's phase explains can be taken out before stretches are compared.
 */
export interface TimeBlocks {
  readonly blocks: number;
  readonly phases: number;
  readonly count: Float64Array;
  readonly s1: Float64Array;
  readonly s2: Float64Array;
}

/** Bins beyond this no longer fit the fast part of memory and show nothing more. */
const MOST_BINS = 1 << 16;
const TIME_BLOCKS = 32;
/** Fewer readings cannot fill stretches and phases alike, and what the phase explains would look like change. */
const FEWEST_FOR_TIME = 4096;
const COARSE = 256;
const RESYNC = 1024;

/**
 * Number of distinct phases that a record visits again and again: the smallest P for which f is J/P so nearly that over the whole record the phase drifts by less than a
 * quarter of the gap 1/P. Found among the convergents of the continued fraction of f.
 * @returns P ≤ M/1, or null when no phase is visited twice
 */
export function distinctPhases(cyclesPerReading: number, readings: number): number | null {
  let x = cyclesPerReading;
  let before = 1;
  let now = 0;
  for (let depth = 0; depth < 40; depth++) {
    const whole = Math.floor(x);
    const next = whole * now + before;
    before = now;
    now = next;
    if (now > readings) return null;
    const nearest = Math.round(cyclesPerReading * now);
    if (Math.abs(cyclesPerReading * now - nearest) * readings < 0.25) return now;
    const rest = x - whole;
    if (!(rest > 1e-12)) return null;
    x = 1 / rest;
  }
  return null;
}

/**
 * One pass over the readings, nothing of their length kept.
 * @param codes  the stretch that `fit` was made over, its reading 0 first
 */
export function foldResidual(codes: Int32Array, fit: SineFit): FoldedResidual {
  const readings = codes.length;
  const f = fit.cyclesPerReading;
  const phases = distinctPhases(f, readings);
  const repeats = phases !== null && phases <= MOST_BINS;
  const bins = repeats ? phases : Math.min(MOST_BINS, 2 ** Math.ceil(Math.log2(readings)));
  const centre = Math.floor((readings - 1) / 2);
  const half = 0.5 / bins;
  const count = new Float64Array(bins);
  const s1 = new Float64Array(bins);
  const s2 = new Float64Array(bins);
  const s3 = new Float64Array(bins);
  const s4 = new Float64Array(bins);
  const time = timeBlocks(f, readings);
  const blockLength = time ? Math.ceil(readings / time.blocks) : readings;

  const omega = 2 * Math.PI * f;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const { amplitude, offset, phase } = fit;
  let row = 0;
  let blockEnd = blockLength;
  for (let start = 0; start < readings; start += RESYNC) {
    const end = Math.min(readings, start + RESYNC);
    const turns = f * start;
    const angle = 2 * Math.PI * (turns - Math.floor(turns)) + phase;
    let c = amplitude * Math.cos(angle);
    let s = amplitude * Math.sin(angle);
    const fromCentre = f * (start - centre) + half;
    let t = fromCentre - Math.floor(fromCentre);
    for (let n = start; n < end; n++) {
      const r = codes[n]! - offset - c;
      const rr = r * r;
      const bin = Math.min(bins - 1, (t * bins) | 0);
      count[bin]! += 1;
      s1[bin]! += r;
      s2[bin]! += rr;
      s3[bin]! += rr * r;
      s4[bin]! += rr * rr;
      if (time) {
        if (n === blockEnd) {
          row += time.phases;
          blockEnd += blockLength;
        }
        const cell = row + Math.min(time.phases - 1, (t * time.phases) | 0);
        time.count[cell]! += 1;
        time.s1[cell]! += r;
        time.s2[cell]! += rr;
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
      t += f;
      if (t >= 1) t -= 1;
    }
  }
  const shift = f * (centre - (readings - 1) / 2);
  return { bins, repeats, shift, count, s1, s2, s3, s4, time };
}

/** Room for the comparison of stretches of time, where each stretch would visit the whole circle of phases. */
function timeBlocks(f: number, readings: number): TimeBlocks | null {
  const blocks = Math.min(TIME_BLOCKS, Math.floor((f * readings) / 3));
  if (blocks < 8 || readings < FEWEST_FOR_TIME) return null;
  // Near f = 1/2, 1/3, 1/4 … a stretch sees only a few places of the circle, others in each stretch: such stretches are not alike.
  const length = Math.min(4096, Math.floor(readings / blocks));
  const places = Math.max(8, Math.floor(length / 4));
  const seen = new Uint8Array(places);
  let visited = 0;
  for (let n = 0; n < length; n++) {
    const t = n * f - Math.floor(n * f);
    const place = Math.min(places - 1, Math.floor(t * places));
    if (!seen[place]) visited++;
    seen[place] = 1;
  }
  if (visited < 0.9 * places) return null;
  const phases = COARSE;
  const size = blocks * phases;
  return { blocks, phases, count: new Float64Array(size), s1: new Float64Array(size), s2: new Float64Array(size) };
}

/** What the residual's scatter says, once the harmonics are known. */
export interface ResidualScatter {
  /** Variance per reading that the mean of r (and so each harmonic) has, and the same of r², the sampling of the phases counted. */
  readonly ofResidual: number;
  readonly ofSquare: number;
  /** Part of ofSquare that comes from slow changes over the record; 0 when none is significant. */
  readonly slow: number;
  readonly meanSquare: number;
  /** Of meanSquare, what differs from reading to reading at one and the same phase, and what differs from phase to neighbouring phase; the rest is smooth in the phase. */
  readonly random: number;
  readonly patterned: number;
}

/**
 * The variance of means over a record whose readings are ordered by the phase of its tone.
 * Plain scatter/M is wrong for what is fixed by the phase: a quantiser's error is sampled on a grid of phases, and a mean over such a grid errs far less than a mean of as many random draws as soon as neighbours
 * in phase fall into the same code. With D₁, D₂ half the mean square difference of neighbours one and two apart, noise alone gives D₁ = D₂, steps met by a fine grid give D₂ = 2·D₁, of which a sixth is real for a single step
 * (a step's place within its gap is uniform: J²/12 against the J²/2 that D₁ counts); between the two it is linear.
 * @param harmonic  the harmonics' value at a phase (cycles at the record's centre), to be taken off r
 * Source: von Neumann, "Distribution of the ratio of the mean square successive difference to the variance", Ann. Math. Stat. 12(4), 1941, applied in order of phase (the split is ours).
 */
export function residualScatter(folded: FoldedResidual, harmonic: (cycles: number) => number): ResidualScatter {
  const { bins, count, s1, s2, s3, s4, shift } = folded;
  const n = new Float64Array(bins);
  const r = new Float64Array(bins);
  const q = new Float64Array(bins);
  let groups = 0;
  let readings = 0;
  let sumQ = 0;
  let sumQQ = 0;
  let withinR = 0;
  let withinQ = 0;
  for (let i = 0; i < bins; i++) {
    const k = count[i]!;
    if (k === 0) continue;
    const m = harmonic(i / bins + shift);
    const r1 = s1[i]! - k * m;
    const q1 = s2[i]! - 2 * m * s1[i]! + k * m * m;
    const q2 = s4[i]! - 4 * m * s3[i]! + 6 * m * m * s2[i]! - 4 * m ** 3 * s1[i]! + k * m ** 4;
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
  ofResidual = Math.max(0, ofResidual);
  ofSquare = Math.max(0, ofSquare);
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
 * Variance per reading of the means of r² over stretches of time. Well above the plain variance it shows noise that swells, drifts, or keeps its sign for long (mains, 1/f). What the tone's phase explains is taken out first, so that a converter's own error does not look like change.
 */
function blockVariance({ time, shift }: FoldedResidual, harmonic: (cycles: number) => number): number {
  if (time === null) return 0;
  const { blocks, phases, count, s1, s2 } = time;
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
      q[i] = s2[i]! - 2 * m * s1[i]! + count[i]! * m * m;
      sum += q[i]!;
      number += count[i]!;
    }
    expected[p] = number > 0 ? sum / number : 0;
    readings += number;
  }
  const length = readings / blocks;
  let between = 0;
  for (let b = 0; b < blocks; b++) {
    let difference = 0;
    for (let p = 0; p < phases; p++) difference += q[b * phases + p]! - count[b * phases + p]! * expected[p]!;
    between += (difference * difference) / length / (blocks - 1);
  }
  between *= readings / Math.max(1, readings - phases);
  return between;
}
