import type { Lsb } from "../bench/units.ts";
import { normalCdf } from "../signal/normal.ts";
import type { Transitions } from "./transitions.ts";

/** Readings of a single slow sweep in the order they were taken, which is that of their inputs or its reverse. */
export interface SweepCourse {
  readonly codes: Int32Array;
  readonly first: number;
  readonly last: number;
  /** Input of reading n, LSB above the bottom of the range. */
  readonly inputAt: (n: number) => Lsb;
}

/** What a ramp's readings say about noise that remembers. */
export interface SweepMemory {
  /** Noise of one reading; readings in order understate one that changes slowly. */
  readonly sigma: Lsb;
  /** By how much more than white noise's the variance of a transition is. */
  readonly factor: number;
}

/** Readings looked at, from the middle of the ramp, times the transitions that noise brings within reach of each: enough, and a fraction of a second. */
const MOST = 1 << 18;
/** Standard deviations by which the correlation of neighbours must stand out. */
const STANDS_OUT = 2.6;
const LONGEST = 0.98;

/**
 * On a ramp readings that follow each other in time also share a transition, so that noise which remembers moves whole transitions. What is left of the codes
 * after their expected value at each input, Σ Φ((v − T[k])/σ), has the noise's own correlation; each transition was set by some readings, which takes as
 * much off it as their number says. Memory longer than a code lasts cannot be told from the converter's own error.
 * @returns null where neighbours are not clearly correlated
 * Source: first-order autoregression beside white noise: variance of a mean 1 + 2·r₁/(1 − ρ), ρ = r₂/r₁ (Box and Jenkins, from memory).
 */
export function sweepMemory({ codes, first, last, inputAt }: SweepCourse, tr: Transitions): SweepMemory | null {
  const { inputs } = tr;
  const count = Math.min(Math.ceil(MOST / Math.max(4, 12 * tr.sigma)), last - first + 1);
  const from = first + Math.floor((last - first + 1 - count) / 2);
  const top = inputs.length - 1;
  const rises = inputAt(last) > inputAt(first);
  let index = 0;
  let spread = 0;
  let inside = 0;
  const place = new Float64Array(count).fill(Number.NaN);
  const below = new Int32Array(count);
  // In order of rising input, whichever way the ramp ran.
  for (let i = 0; i < count; i++) {
    const at = rises ? i : count - 1 - i;
    const v = inputAt(from + at);
    while (index <= top && inputs[index]! <= v) index++;
    below[at] = index;
    if (index === 0 || index > top) continue;
    const width = inputs[index]! - inputs[index - 1]!;
    if (!(width > 0.05)) continue;
    place[at] = v;
    const d = codes[from + at]! - (tr.first + index - 1 + (v - inputs[index - 1]!) / width - 0.5);
    spread += d * d;
    inside++;
  }
  if (inside < 200) return null;
  const sigma = Math.max(tr.sigma, Math.sqrt(Math.max(0, spread / inside - 1 / 12)));
  const error = (i: number): number => {
    const v = place[i]!;
    if (Number.isNaN(v)) return Number.NaN;
    let expected = tr.first - 1;
    const k = below[i]!;
    let j = k - 1;
    for (; j >= 0 && v - inputs[j]! < 6 * sigma; j--) expected += normalCdf((v - inputs[j]!) / sigma);
    expected += j + 1;
    for (j = k; j <= top && inputs[j]! - v < 6 * sigma; j++) expected += normalCdf((v - inputs[j]!) / sigma);
    // Near the ends transitions are missing from the sum.
    return v - inputs[0]! < 6 * sigma || inputs[top]! - v < 6 * sigma ? Number.NaN : codes[from + i]! - expected;
  };
  let [two, one] = [Number.NaN, Number.NaN];
  let [square, fourth, by1, by2] = [0, 0, 0, 0];
  for (let i = 0; i < count; i++) {
    const e = error(i);
    if (!Number.isNaN(e)) {
      square += e * e;
      fourth += e ** 4;
      if (!Number.isNaN(one)) by1 += e * one;
      if (!Number.isNaN(two)) by2 += e * two;
    }
    two = one;
    one = e;
  }
  if (!(square > 0)) return null;
  // Where an input lies far from every transition, its reading says nothing.
  const informative = (square * square) / fourth;
  // Readings that share the setting of a transition: those of a code, or of the width over which noise spreads it.
  const shared =
    Math.max(2, inside / Math.max(1, inputs[top]! - inputs[0]!)) * Math.max(1, 2 * Math.sqrt(Math.PI) * sigma);
  const r1 = by1 / square;
  if (!(r1 + 1 / shared > STANDS_OUT / Math.sqrt(informative)) || !(r1 > 0)) return null;
  let factor = 1;
  for (let round = 0; round < 4; round++) {
    const lost = Math.min(0.5, factor / shared);
    // Two standard deviations more than was seen: too little memory would be the worse mistake.
    const c1 = r1 + lost + 2 / Math.sqrt(informative);
    const rho = Math.min(LONGEST, Math.max(c1, (by2 / square + lost) / c1));
    factor = Math.max(1, 1 + (2 * Math.min(1, c1)) / (1 - rho));
  }
  return { sigma, factor };
}
