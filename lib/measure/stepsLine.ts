import { type Scale, voltageOfCode } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import { halfWidth, Z95 } from "../signal/coverage.ts";
import type { LevelMean } from "./stepsLevels.ts";

/** A level with all its visits. */
export interface LevelPoint {
  readonly applied: Volts;
  readonly meanCode: number;
  /** Standard uncertainty of meanCode from scatter, LSB. */
  readonly standard: Lsb;
  readonly visits: readonly LevelMean[];
}

/** Standard deviation of code-width errors taken for granted between a stated level and the real one, LSB; common practice. */
const WIDTH_SD = 0.1;

/** Rectangular errors of each point, independent from point to point; LSB. */
export interface PointLimits {
  /** Quantisation of a level without enough noise. */
  readonly reach: Lsb;
  /** The source's departure from its own straight line. */
  readonly linearity: Lsb;
  /** Fresh each time a level is set. */
  readonly repeatability: Lsb;
  /**
   * How far off its stated voltage each level may really have been, standard deviation; empty where levels are exact. What the converter's own curve does over those few codes
   * belongs to the stated level's figure and was not seen.
   */
  readonly displacement: readonly Lsb[];
}

/** The used visits gathered by level, in rising order of applied voltage. */
export function levelPoints(visits: readonly LevelMean[], same: Volts): readonly LevelPoint[] {
  const sorted = visits.filter((v) => v.note === null).sort((a, b) => a.applied - b.applied);
  const groups: LevelMean[][] = [];
  for (const visit of sorted) {
    const group = groups[groups.length - 1];
    if (group !== undefined && visit.applied - group[0]!.applied <= same) group.push(visit);
    else groups.push([visit]);
  }
  return groups.map((group) => {
    const n = group.length;
    return {
      applied: group.reduce((s, v) => s + v.applied, 0) / n,
      meanCode: group.reduce((s, v) => s + v.meanCode, 0) / n,
      standard: Math.sqrt(group.reduce((s, v) => s + v.standard ** 2, 0)) / n,
      visits: group,
    };
  });
}

/** V(y) = gain·V + offset through the points, as linear combinations of their mean codes, so that uncertainties follow. */
export interface LevelLine {
  readonly gain: number;
  readonly offset: Volts;
  /** gain = Σ gainWeights[i]·V(y_i), per volt. */
  readonly gainWeights: Float64Array;
  /** offset = Σ offsetWeights[i]·V(y_i). */
  readonly offsetWeights: Float64Array;
}

/**
 * @param points  at least two, in rising order
 * @param line    endpoint: through the outermost points; best-fit: V(y_i) regressed on V_i
 * @throws RangeError  fewer than two points
 */
export function levelLine(points: readonly LevelPoint[], scale: Scale, line: "endpoint" | "best-fit"): LevelLine {
  const n = points.length;
  if (n < 2) throw new RangeError(`levelLine: requires at least 2 levels; got ${n}`);
  const gainWeights = new Float64Array(n);
  const offsetWeights = new Float64Array(n);
  if (line === "endpoint") {
    const span = points[n - 1]!.applied - points[0]!.applied;
    gainWeights[0] = -1 / span;
    gainWeights[n - 1] = 1 / span;
    offsetWeights[0] = points[n - 1]!.applied / span;
    offsetWeights[n - 1] = -points[0]!.applied / span;
  } else {
    const mean = points.reduce((s, p) => s + p.applied, 0) / n;
    const squares = points.reduce((s, p) => s + (p.applied - mean) ** 2, 0);
    points.forEach((p, i) => {
      gainWeights[i] = (p.applied - mean) / squares;
      offsetWeights[i] = 1 / n - mean * gainWeights[i]!;
    });
  }
  // About the first point, so that a large common voltage does not cost digits.
  const base = voltageOfCode(scale, points[0]!.meanCode);
  let gain = 0;
  let offset = base;
  points.forEach((p, i) => {
    const z = voltageOfCode(scale, p.meanCode) - base;
    gain += gainWeights[i]! * z;
    offset += offsetWeights[i]! * z;
  });
  return { gain, offset, gainWeights, offsetWeights };
}

/** With more levels than this the exact convolution for each of them would take seconds; adding variances is a little wider. */
const MANY_LEVELS = 300;

function combine(standard: number, rectangles: readonly number[], levels: number): number {
  if (levels <= MANY_LEVELS) return halfWidth(standard, rectangles);
  let square = standard * standard;
  let sum = 0;
  for (const a of rectangles) {
    square += (a * a) / 3;
    sum += a;
  }
  return Math.min(Z95 * Math.sqrt(square), Z95 * standard + sum);
}

/** A half-width at 95 % and the standard uncertainties it is made of. */
export interface CombinedWidth {
  readonly halfWidth: number;
  readonly readings: number;
  readonly reach: number;
  readonly source: number;
  readonly placement: number;
}

/**
 * Half-width at 95 % of a linear combination Σ w_i·y_i of the points' mean codes.
 * @param weights  one a point, in the result's unit per LSB
 * @param used     the points whose weight is not zero; all by default
 * @param coverage factor that turns the scatter's standard deviation into 95 %, 1.96 for many readings (Student's t for few)
 */
export function combinedHalfWidth(
  weights: ArrayLike<number>,
  points: readonly LevelPoint[],
  limits: PointLimits,
  coverage: number,
  used: Iterable<number> = points.keys(),
): CombinedWidth {
  let square = 0;
  let squarePlacement = 0;
  let squareWeights = 0;
  let squareSettings = 0;
  const rectangles: number[] = [];
  for (const i of used) {
    const p = points[i]!;
    const w = Math.abs(weights[i]!);
    if (w === 0) continue;
    square += (w * p.standard) ** 2;
    const displaced = limits.displacement[i] ?? 0;
    // Independent code widths add up as a walk: by the root of the number of codes passed.
    squarePlacement += (w * WIDTH_SD) ** 2 * displaced;
    squareWeights += w * w;
    squareSettings += (w * w) / p.visits.length;
    if (limits.reach > 0) {
      rectangles.push(w * limits.reach);
      // The stated and the real level each fall somewhere within a code.
      if (displaced > 0) rectangles.push(w * limits.reach * Math.min(1, displaced / 0.3));
    }
    if (limits.linearity > 0) rectangles.push(w * limits.linearity);
    if (limits.repeatability > 0)
      for (const _ of p.visits) rectangles.push((w * limits.repeatability) / p.visits.length);
  }
  const readings = Math.sqrt(square);
  const third = Math.sqrt(1 / 3);
  return {
    halfWidth: combine(Math.hypot((readings * coverage) / Z95, Math.sqrt(squarePlacement)), rectangles, points.length),
    placement: Math.sqrt(squarePlacement),
    readings,
    reach: limits.reach * third * Math.sqrt(squareWeights),
    source: third * Math.sqrt(limits.linearity ** 2 * squareWeights + limits.repeatability ** 2 * squareSettings),
  };
}
