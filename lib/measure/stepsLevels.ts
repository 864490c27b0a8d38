import { codeOfVoltage } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { say } from "../match/say.ts";
import { normalCdf } from "../signal/distributions.ts";
import { quantisationReach } from "./noiseQuantisation.ts";
import { type Settled, settledPart, tailScatter } from "./stepsSettling.ts";
import { stepsVisits, type Visit } from "./stepsVisits.ts";

/** The mean code of one visit to a level. */
export interface LevelMean {
  readonly applied: Volts;
  readonly direction: "up" | "down";
  readonly first: number;
  readonly last: number;
  readonly settling: number;
  readonly readings: number;
  readonly meanCode: number;
  /** Standard uncertainty of meanCode from the readings' scatter. */
  readonly standard: Lsb;
  /** Why the visit is left out of every figure; null when it is used. */
  readonly note: string | null;
}

export interface StepLevels {
  readonly visits: readonly LevelMean[];
  /** How far a mean code may miss its input because the noise is too small to bridge the quantiser's steps; LSB, 0…½. */
  readonly reach: Lsb;
  /** Input-referred noise, averaged over the levels. */
  readonly sigma: Lsb;
  /** Degrees of freedom of the scatter. */
  readonly dof: number;
  /** By what correlated neighbours widen the variance of a mean, ≥ 1. */
  readonly inflation: number;
}

/**
 * Mean codes of the levels, transients left out, with what their scatter says. A visit is left out when it touches an end of the range, has not settled by
 * half its length, or is damaged.
 */
export function stepLevels(record: MatchedRecord): StepLevels {
  const { codes, scale } = record;
  const visits = stepsVisits(record);
  const scatter = tailScatter(
    codes,
    visits.map(({ first, last }) => [first, last]),
  );
  const settled = visits.map((visit) => ({ visit, part: settledPart(codes, visit.first, visit.last, scatter) }));
  const usable = settled.map(({ visit, part }) => {
    for (let n = part.first; n <= part.last; n++)
      if (codes[n]! <= 0 || codes[n]! >= scale.topCode)
        return `touches code ${codes[n]! <= 0 ? 0 : scale.topCode}, the end of the range`;
    if (!part.isSettled) return `not settled within half of its ${say.plural(visit.last - visit.first + 1, "reading")}`;
    return null;
  });
  if (lagsBehind(codes, settled)) usable.fill("not settled: its few readings still approach from the level before");
  const kept = settled.filter((_, i) => usable[i] === null);
  const pooled = pooledVariance(
    codes,
    kept.map(({ part }) => [part.first, part.last]),
  );
  // Levels of one reading each show no scatter of their own.
  const sigma =
    pooled.dof > 0 ? sigmaOfVariance(pooled.variance * (1 - Math.min(0.5, 1.5 / Math.sqrt(2 * pooled.dof)))) : 0;
  const means = settled.map(({ visit, part }, i): LevelMean => {
    const count = part.last - part.first + 1;
    let sum = 0;
    for (let n = part.first; n <= part.last; n++) sum += codes[n]!;
    const mean = sum / count;
    let squares = 0;
    for (let n = part.first; n <= part.last; n++) squares += (codes[n]! - mean) ** 2;
    // With noise that bridges the steps every level scatters alike; a quiet one scatters as its place within the code has it.
    const own = count > 1 ? (squares + 0.5) / (count - 1) : 0;
    const variance = sigma > 0.45 || count < 2 ? pooled.variance : count < 10 ? Math.max(own, pooled.variance) : own;
    return {
      applied: visit.applied,
      direction: visit.direction,
      first: part.first,
      last: part.last,
      settling: part.settling,
      readings: count,
      meanCode: mean,
      standard: Math.sqrt((variance * pooled.inflation) / count),
      note: usable[i]!,
    };
  });
  if (pooled.dof < FEW) return fromNeighbours(means, record);
  return {
    visits: means,
    reach: quantisationReach(sigma),
    sigma,
    dof: Math.max(1, pooled.dof / pooled.inflation),
    inflation: pooled.inflation,
  };
}

/**
 * Whether visits too short to show it one by one have, taken together, not settled: their first half still leans towards the level they came from.
 */
function lagsBehind(codes: Int32Array, settled: readonly { visit: Visit; part: Settled }[]): boolean {
  const leans: number[] = [];
  settled.forEach(({ visit, part }, i) => {
    const before = settled[i - 1];
    const readings = visit.last - visit.first + 1;
    if (before === undefined || readings >= 6 || part.last - part.first < 1) return;
    const half = (part.last - part.first + 1) >> 1;
    let lean = 0;
    for (let k = 0; k < half; k++) lean += (codes[part.first + k]! - codes[part.last - k]!) / half;
    leans.push(before.visit.applied > visit.applied ? lean : -lean);
  });
  if (leans.length < 6) return false;
  const mean = leans.reduce((s, x) => s + x, 0) / leans.length;
  const sd = Math.sqrt(leans.reduce((s, x) => s + (x - mean) ** 2, 0) / (leans.length - 1));
  return mean > 0 && mean > 4.5 * Math.sqrt((sd * sd + 1 / 12) / leans.length);
}

/** With fewer degrees of freedom the scatter within levels says nothing. */
const FEW = 5;

/**
 * Levels of one or two readings each: the scatter is taken from how far each level's error departs from its two neighbours', which a smooth converter would not
 * show. Quantisation is in it, as every reading falls somewhere else within its code.
 */
function fromNeighbours(means: readonly LevelMean[], { scale }: MatchedRecord): StepLevels {
  const used = means.filter((m) => m.note === null);
  const errors = used.map((m) => m.meanCode - codeOfVoltage(scale, m.applied));
  let sum = 0;
  let count = 0;
  for (let i = 1; i + 1 < errors.length; i++, count++)
    sum += (errors[i - 1]! - 2 * errors[i]! + errors[i + 1]!) ** 2 / 6;
  // Too few levels to judge by: nothing better than a whole code's width is claimed.
  const standard = count >= 3 ? Math.sqrt(sum / count + 1 / 144) : 1;
  return {
    visits: means.map((m) => ({ ...m, standard })),
    reach: count >= 10 ? 0 : 0.5,
    sigma: 0,
    dof: Math.max(1, count / 2),
    inflation: 1,
  };
}

/** Variance of the codes about their own stretch's mean, over all stretches, and how far neighbours vary together. */
function pooledVariance(
  codes: Int32Array,
  stretches: readonly (readonly [number, number])[],
): { variance: number; dof: number; inflation: number } {
  let squares = 0;
  let together = 0;
  let pairs = 0;
  let dof = 0;
  for (const [first, last] of stretches) {
    const count = last - first + 1;
    if (count < 2) continue;
    let sum = 0;
    for (let n = first; n <= last; n++) sum += codes[n]!;
    const mean = sum / count;
    let before = 0;
    for (let n = first; n <= last; n++) {
      const e = codes[n]! - mean;
      squares += e * e;
      if (n > first) together += e * before;
      before = e;
    }
    pairs += count - 1;
    dof += count - 1;
  }
  if (dof === 0) return { variance: 0, dof: 0, inflation: 1 };
  const variance = squares / dof;
  const count = stretches.length;
  // Taking out each stretch's own mean pulls the correlation of neighbours down by one part in its length.
  const length = (dof + count) / count;
  const lagOne = variance > 0 ? together / pairs / variance : 0;
  const rho = lagOne + 1 / length;
  const significant = rho > 2.5 / Math.sqrt(pairs);
  const bounded = Math.min(0.98, rho * (1 + 2 / length));
  return { variance, dof, inflation: significant ? (1 + bounded) / (1 - bounded) : 1 };
}

/**
 * Input-referred σ from the variance of codes averaged over levels anywhere within their codes. Without a step structure it would be variance − 1/12
 * (Sheppard); below half an LSB the average over all positions is inverted.
 */
function sigmaOfVariance(variance: number): Lsb {
  if (variance > 0.5) return Math.sqrt(variance - 1 / 12);
  const averaged = (sigma: number): number => {
    let sum = 0;
    for (let i = 0; i < 16; i++) {
      const x = (i + 0.5) / 16 - 0.5;
      let mean = 0;
      let square = 0;
      for (let k = -4; k <= 4; k++) {
        const p = normalCdf((k + 0.5 - x) / sigma) - normalCdf((k - 0.5 - x) / sigma);
        mean += k * p;
        square += k * k * p;
      }
      sum += square - mean * mean;
    }
    return sum / 16;
  };
  let low = 1e-3;
  let high = 1;
  if (averaged(low) > variance) return 0;
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (averaged(middle) < variance) low = middle;
    else high = middle;
  }
  return low;
}
