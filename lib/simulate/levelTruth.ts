import { type Scale, voltageOfCode } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import { normalCdf } from "../signal/normal.ts";

/**
 * Mean and standard deviation of the codes that a converter of known transitions gives at a steady input with Gaussian noise: the exact
 * sums, no simulation.
 * @param T      element k is T[k] in volts, k = 1…topCode; element 0 is −Infinity
 * @param volts  the input
 * @param noise  its standard deviation, volts
 * @returns expected code and standard deviation of codes, LSB
 */
export function codeMoments(T: Float64Array, volts: Volts, noise: Volts): { mean: number; sd: Lsb } {
  // E[y] = Σ P(y ≥ k), E[y²] = Σ (2k − 1)·P(y ≥ k); the transitions within reach of the noise are enough, those below are always passed.
  let start = lowerBound(T, volts - 9 * noise);
  const base = start - 1;
  let mean = base;
  let second = 0;
  for (; start < T.length; start++) {
    const above = noise > 0 ? normalCdf((volts - T[start]!) / noise) : volts >= T[start]! ? 1 : 0;
    if (above < 1e-18) break;
    mean += above;
    second += (2 * (start - base) - 1) * above;
  }
  const shift = mean - base;
  return { mean, sd: Math.sqrt(Math.max(0, second - shift * shift)) };
}

/** The first k ≥ 1 with T[k] > volts. */
function lowerBound(T: Float64Array, volts: Volts): number {
  let low = 1;
  let high = T.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (T[middle]! > volts) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Figures of a steps capture of a known converter, by the definition of DESIGN §4 with expected mean codes in place of measured ones. */
export interface LevelTruth {
  readonly offsetError: Lsb;
  /** Per cent. */
  readonly gainError: number;
  readonly inlMax: Lsb;
  readonly inlMin: Lsb;
  readonly totalUnadjustedError: Lsb;
  /** INL of each level used, LSB; NaN for one that touches a rail. */
  readonly inl: readonly number[];
  /** Expected mean code of each level. */
  readonly meanCodes: readonly number[];
}

/**
 * The truth of a steps capture: V(y_i) = G·V_i + Vos + ε_i with y_i the expected mean code.
 * @param volts  what was really applied, one a level
 * @param noise  volts rms
 * @param line   endpoint: through the outermost levels that touch no rail; best-fit: V(y_i) regressed on V_i
 * @throws RangeError  fewer than two levels lie clear of the rails
 */
export function levelTruth(
  T: Float64Array,
  scale: Scale,
  volts: readonly Volts[],
  noise: Volts,
  line: "endpoint" | "best-fit",
): LevelTruth {
  const moments = volts.map((v) => codeMoments(T, v, noise));
  const points = volts.flatMap((v, i) => {
    const { mean } = moments[i]!;
    // A level within four deviations of a rail would touch it in any record of useful length.
    const reach = 4 * (noise / scale.lsb) + 0.5;
    return mean - reach > 0 && mean + reach < scale.topCode ? [{ i, v, z: voltageOfCode(scale, mean) }] : [];
  });
  if (points.length < 2)
    throw new RangeError(`levelTruth: requires at least 2 levels clear of the rails; got ${points.length}`);
  let slope: number;
  let intercept: number;
  if (line === "endpoint") {
    const first = points.reduce((a, b) => (b.v < a.v ? b : a));
    const last = points.reduce((a, b) => (b.v > a.v ? b : a));
    slope = (last.z - first.z) / (last.v - first.v);
    intercept = first.z - slope * first.v;
  } else {
    const n = points.length;
    const vMean = points.reduce((s, p) => s + p.v, 0) / n;
    const zMean = points.reduce((s, p) => s + p.z, 0) / n;
    const vv = points.reduce((s, p) => s + (p.v - vMean) ** 2, 0);
    slope = points.reduce((s, p) => s + (p.v - vMean) * (p.z - zMean), 0) / vv;
    intercept = zMean - slope * vMean;
  }
  const inl = new Array<number>(volts.length).fill(Number.NaN);
  let unadjusted = 0;
  for (const { i, v, z } of points) {
    inl[i] = -(z - slope * v - intercept) / scale.lsb;
    unadjusted = Math.max(unadjusted, Math.abs(z - v) / scale.lsb);
  }
  const used = inl.filter((x) => !Number.isNaN(x));
  return {
    offsetError: intercept / scale.lsb,
    gainError: 100 * (slope - 1),
    inlMax: Math.max(...used),
    inlMin: Math.min(...used),
    totalUnadjustedError: unadjusted,
    inl,
    meanCodes: moments.map((m) => m.mean),
  };
}
