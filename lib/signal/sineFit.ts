import type { Radians } from "../bench/units.ts";
import { readingsOf } from "./readingsOf.ts";
import { sineStart } from "./sineStart.ts";
import { type CentredSine, type SineSums, sineSums } from "./sineSums.ts";
import { symmetricSolve } from "./symmetricSolve.ts";
import { isUsable, type UsableCodes } from "./usableCodes.ts";

/**
 * A sine fitted to readings: y[n] = offset + amplitude·cos(2π·cyclesPerReading·n + phase), n counted from the record's reading 0
 * even where only a stretch of it was fitted.
 */
export interface SineFit {
  readonly cyclesPerReading: number;
  /** ≥ 0, in the unit of the readings (codes). */
  readonly amplitude: number;
  readonly offset: number;
  /** In (−π, π]. */
  readonly phase: Radians;
  /** Residual sum of squares. */
  readonly rss: number;
  /** √(RSS/(M − p)). */
  readonly residualRms: number;
  readonly readings: number;
  /** Parameters fitted: 3 (frequency known) or 4. */
  readonly parameters: 3 | 4;
  /** Standard uncertainties from the residual, white noise assumed. */
  readonly standard: {
    readonly cyclesPerReading: number;
    readonly amplitude: number;
    readonly offset: number;
    readonly phase: Radians;
  };
}

export interface SineFitOptions {
  /** Cycles per reading: the start value, good to a quarter of a cycle over the record; or, with `fixed`, the known frequency. */
  readonly frequency?: number;
  /** Three parameters: the frequency is known and stays. */
  readonly fixed?: boolean;
  /** Readings first…last, both included; default all. */
  readonly first?: number;
  readonly last?: number;
  /** Codes to use: the rails of a clipped record are none. NaN is left out in any case. */
  readonly usable?: UsableCodes | null;
  /** A fit of most of these readings, so that its phase holds to both ends: the first pass over all of them starts at it. */
  readonly near?: SineFit;
}

/** A start is sought in at most this many readings at a time. */
const SECTION = 1 << 13;
/** Sections grow by this factor: the frequency's uncertainty shrinks faster than the phase's lever grows. */
const GROWTH = 8;

/**
 * Least-squares sine fit with three or four parameters, of any record: a fraction of a cycle or millions, from about eight readings up to
 * 1e8.
 * The start is the best three-parameter fit on a fine grid of frequencies (sineStart); Gauss-Newton steps over growing sections follow, so
 * that a long record is passed only once or twice and needs no memory of its length.
 * @param codes    readings; numbers of any unit
 * @param options  see SineFitOptions
 * @returns null when there is nothing to fit: no more used readings than parameters, all equal, or a frequency so close to 0 or to half a
 *   cycle a
 *   reading that the parameters cannot be told apart
 * @throws RangeError  first…last does not lie in the record, or `fixed` without `frequency`
 * Source: IEEE Std 1057-2007 and 1241-2010, three- and four-parameter sine fit.
 */
export function fitSine(codes: ArrayLike<number>, options: SineFitOptions = {}): SineFit | null {
  const { frequency, fixed = false, first = 0, last = codes.length - 1, usable, near } = options;
  if (codes.length === 0) return null;
  if (!(Number.isInteger(first) && Number.isInteger(last) && first >= 0 && last < codes.length && first <= last))
    throw new RangeError(`fitSine: first…last must lie in 0…${codes.length - 1}; got ${first}…${last}`);
  if (fixed && frequency === undefined) throw new RangeError("fitSine: a fixed frequency must be given");
  if (near !== undefined) {
    const settled = converge(
      codes,
      first,
      last,
      centred(near, (first + last) / 2, fixed ? frequency : undefined),
      fixed,
      usable,
    );
    const found = settled && describe(settled.model, settled.sums, settled.rss, settled.inverse, fixed);
    if (found !== null) return found;
  }
  const starts =
    frequency !== undefined ? [{ frequency, first, last: Math.min(last, first + SECTION - 1), better: 1 }] : [];
  if (frequency === undefined) starts.push(...startsOf(codes, first, last, usable));
  let best: SineFit | null = null;
  for (const start of starts) {
    const found = refine(codes, first, last, start, fixed, usable);
    if (found && (best === null || found.rss < start.better * best.rss)) best = found;
  }
  return best;
}

interface Start {
  readonly frequency: number;
  /** The section that the start was found in. */
  readonly first: number;
  readonly last: number;
  /**
   * The share of the best remainder so far that this start must come below. Near its middle, a heavily clipped sine without its rails looks
   * like odd multiples of its frequency too, so a start from there must be clearly better.
   */
  readonly better: number;
}

/** Fewer cycles than this in a section, and a longer one must be looked at. */
const ENOUGH_CYCLES = 4;

/** Frequencies to begin with, each with the section that supports it: the record's beginning, and coarser views of longer parts. */
function startsOf(codes: ArrayLike<number>, first: number, last: number, usable?: UsableCodes | null): Start[] {
  const starts: Start[] = [];
  const readings = last - first + 1;
  for (let step = 1; ; step *= GROWTH) {
    const count = Math.min(SECTION, Math.floor(readings / step));
    const end = first + count * step - 1;
    const values = meansOf(codes, first, step, count);
    // Means of neighbours cannot leave readings out; a clipped sine keeps its frequency, so that the start holds with the rails in.
    const found = sineStart(values, null);
    if (found) starts.push({ frequency: found.frequency / step, first, last: end, better: 1 });
    if (step === 1 && usable) {
      const used = new Uint8Array(count);
      for (let i = 0; i < count; i++) used[i] = isUsable(codes[first + i]!, usable) ? 1 : 0;
      const without = used.includes(0) ? sineStart(values, used) : null;
      if (without && !(found && Math.abs(without.frequency - found.frequency) < 2 * without.spacing))
        starts.push({ frequency: without.frequency, first, last: end, better: 0.5 });
    }
    if ((found && found.frequency * count >= ENOUGH_CYCLES) || count * step === readings || count < SECTION) break;
  }
  return starts;
}

/** Means of `step` readings each, from reading `first` on. */
function meansOf(codes: ArrayLike<number>, first: number, step: number, count: number): Float64Array {
  if (step === 1) return readingsOf(codes, first, first + count);
  const means = new Float64Array(count);
  for (let i = 0, n = first; i < count; i++) {
    let sum = 0;
    for (let j = 0; j < step; j++) sum += codes[n++]!;
    means[i] = sum / step;
  }
  return means;
}

/** Gauss-Newton from the start's section to the whole stretch. */
function refine(
  codes: ArrayLike<number>,
  first: number,
  last: number,
  start: Start,
  fixed: boolean,
  usable?: UsableCodes | null,
): SineFit | null {
  let from = start.first;
  let to = start.last;
  let model: CentredSine = { frequency: start.frequency, centre: (from + to) / 2, offset: 0, a: 0, b: 0 };
  // The first pass only takes the bulk of the sine off, so that later sums are of small remainders and lose no digits.
  const rough = threeParameters(sineSums(codes, from, to, model, usable));
  if (rough === null && to === last) return null;
  if (rough) model = { ...model, offset: rough.x[0]!, a: rough.x[1]!, b: rough.x[2]! };
  for (;;) {
    const whole = from === first && to === last;
    const settled = converge(codes, from, to, model, fixed, usable);
    if (settled === null) {
      if (whole) return null;
    } else {
      if (whole) return describe(settled.model, settled.sums, settled.rss, settled.inverse, fixed);
      model = settled.model;
    }
    from = first;
    to = Math.min(last, first + (to - first + 1) * GROWTH - 1);
    // A last section that is hardly longer than this one is worth no pass of its own.
    if (last - first + 1 < 2 * (to - first + 1)) to = last;
    model = recentred(model, (from + to) / 2);
  }
}

/** A known fit about the middle of a stretch, at its own frequency or another. */
function centred(fit: SineFit, centre: number, frequency = fit.cyclesPerReading): CentredSine {
  const turns = fit.cyclesPerReading * centre;
  const angle = 2 * Math.PI * (turns - Math.round(turns)) + fit.phase;
  return {
    frequency,
    centre,
    offset: fit.offset,
    a: fit.amplitude * Math.cos(angle),
    b: -fit.amplitude * Math.sin(angle),
  };
}

function recentred(model: CentredSine, centre: number): CentredSine {
  const turns = model.frequency * (centre - model.centre);
  const angle = 2 * Math.PI * (turns - Math.round(turns));
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  return { ...model, centre, a: model.a * c + model.b * s, b: model.b * c - model.a * s };
}

interface Settled {
  readonly model: CentredSine;
  readonly sums: SineSums;
  readonly rss: number;
  readonly inverse: Float64Array;
}

const MOST_PASSES = 30;

function converge(
  codes: ArrayLike<number>,
  first: number,
  last: number,
  start: CentredSine,
  fixed: boolean,
  usable?: UsableCodes | null,
): Settled | null {
  let model = start;
  // Where the frequency last stood with a smaller remainder, for taking back a step that went too far.
  let base: { readonly frequency: number; readonly rss: number } | null = null;
  for (let pass = 1; pass <= MOST_PASSES; pass++) {
    const sums = sineSums(codes, first, last, model, usable);
    const three = threeParameters(sums);
    if (three === null || sums.readings <= (fixed ? 3 : 4)) return null;
    const offset = model.offset + three.x[0]!;
    const a = model.a + three.x[1]!;
    const b = model.b + three.x[2]!;
    const rss3 = Math.max(0, sums.rr - three.explained);
    if (fixed) {
      const exact = { ...model, offset, a, b };
      const size = Math.hypot(three.x[0]!, three.x[1]!, three.x[2]!);
      // A remainder that is a small difference of large sums is formed again about the better model.
      if (size * size * sums.readings > 1e4 * rss3 && pass < 4) {
        model = exact;
        continue;
      }
      return { model: exact, sums, rss: rss3, inverse: three.inverse };
    }
    if (base !== null && rss3 > base.rss * (1 + 1e-9)) {
      const frequency = base.frequency + (model.frequency - base.frequency) / 2;
      if (pass < MOST_PASSES && Math.abs(frequency - base.frequency) * sums.half > 1e-12) {
        model = { ...model, frequency, offset, a, b };
        continue;
      }
    }
    base = { frequency: model.frequency, rss: rss3 };
    const four = fourParameters(sums, a, b);
    if (four === null) return null;
    const turn = four.x[3]!;
    const amplitude = Math.hypot(model.a + four.x[1]!, model.b + four.x[2]!);
    // u runs to ±1, so `turn` is the change of phase at the ends. Half a radian at most a step keeps to the peak that the start stands on.
    const step = Math.max(-0.5, Math.min(0.5, turn));
    const next = model.frequency + step / (2 * Math.PI * sums.half);
    const frequency = next <= 0 ? model.frequency / 2 : next >= 0.5 ? (model.frequency + 0.5) / 2 : next;
    const rss = Math.max(0, sums.rr - four.explained);
    const moved = {
      ...model,
      frequency,
      offset: model.offset + four.x[0]!,
      a: model.a + four.x[1]!,
      b: model.b + four.x[2]!,
    };
    // What the linear step leaves undone is of second order in the change of phase and in the changes of the sine's parts.
    const undone = (amplitude * turn * turn) ** 2 + (turn * Math.hypot(four.x[1]!, four.x[2]!)) ** 2;
    // A Gauss-Newton step leaves a share of itself undone that grows with the noise: it must be far below the frequency's own uncertainty.
    const spread = Math.sqrt(rss / sums.readings);
    const left = (3 * spread * Math.abs(turn)) / (amplitude * Math.sqrt(sums.readings));
    const small =
      Math.abs(turn) < 1e-9 ||
      (undone * sums.readings < 1e-8 * rss && left < 1e-4 * spread * Math.sqrt(four.inverse[15]!));
    const bulk = Math.hypot(four.x[0]!, four.x[1]!, four.x[2]!) ** 2 * sums.readings > 1e4 * rss && pass < 8;
    if (small && step === turn && frequency === next && !bulk)
      return { model: moved, sums, rss, inverse: four.inverse };
    model = moved;
  }
  return null;
}

interface Solved {
  readonly x: Float64Array;
  readonly inverse: Float64Array;
  /** What the columns take off the remainder's sum of squares. */
  readonly explained: number;
}

function solve(H: Float64Array, g: Float64Array): Solved | null {
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  let explained = 0;
  for (let i = 0; i < g.length; i++) explained += g[i]! * solved.x[i]!;
  return { ...solved, explained };
}

function threeParameters(sums: SineSums): Solved | null {
  const H = new Float64Array(9);
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) H[3 * i + j] = sums.H[5 * i + j]!;
  return solve(H, sums.g.slice(0, 3));
}

/** Columns [1, c, s, b·u·c − a·u·s]: the fourth is the model's change with the phase at the ends. */
function fourParameters({ H: all, g }: SineSums, a: number, b: number): Solved | null {
  const H = new Float64Array(16);
  const at = (i: number, j: number): number => all[5 * i + j]!;
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) H[4 * i + j] = at(i, j);
    H[4 * i + 3] = b * at(i, 3) - a * at(i, 4);
    H[12 + i] = H[4 * i + 3]!;
  }
  H[15] = b * b * at(3, 3) - 2 * a * b * at(3, 4) + a * a * at(4, 4);
  return solve(H, new Float64Array([g[0]!, g[1]!, g[2]!, b * g[3]! - a * g[4]!]));
}

/** Amplitude and phase at reading 0, and what the residual says about their uncertainty. */
function describe(
  model: CentredSine,
  sums: SineSums,
  rss: number,
  inverse: Float64Array,
  fixed: boolean,
): SineFit | null {
  const { frequency, centre, a, b } = model;
  const parameters = fixed ? 3 : 4;
  const amplitude = Math.hypot(a, b);
  if (!(amplitude > 0 && amplitude < Infinity)) return null;
  const variance = rss / (sums.readings - parameters);
  const n = parameters;
  const covariance = (i: number, j: number): number => inverse[n * i + j]! * variance;
  // a·cos θ + b·sin θ = A·cos(θ + φ), φ = atan2(−b, a); θ at reading 0 is −ω·centre.
  const turns = frequency * centre;
  const phase = wrapped(Math.atan2(-b, a) - 2 * Math.PI * (turns - Math.round(turns)));
  const ca = a / amplitude;
  const cb = b / amplitude;
  const varAmplitude = ca * ca * covariance(1, 1) + 2 * ca * cb * covariance(1, 2) + cb * cb * covariance(2, 2);
  // dφ = (b·da − a·db)/A² at the centre, less centre·dω.
  const pa = b / amplitude ** 2;
  const pb = -a / amplitude ** 2;
  const pw = fixed ? 0 : -centre / sums.half;
  let varPhase = pa * pa * covariance(1, 1) + 2 * pa * pb * covariance(1, 2) + pb * pb * covariance(2, 2);
  if (!fixed) varPhase += pw * pw * covariance(3, 3) + 2 * pw * (pa * covariance(1, 3) + pb * covariance(2, 3));
  return {
    cyclesPerReading: frequency,
    amplitude,
    offset: model.offset,
    phase,
    rss,
    residualRms: Math.sqrt(variance),
    readings: sums.readings,
    parameters,
    standard: {
      cyclesPerReading: fixed ? 0 : Math.sqrt(covariance(3, 3)) / (2 * Math.PI * sums.half),
      amplitude: Math.sqrt(Math.max(0, varAmplitude)),
      offset: Math.sqrt(covariance(0, 0)),
      phase: Math.sqrt(Math.max(0, varPhase)),
    },
  };
}

/** An angle brought into (−π, π]. */
function wrapped(angle: number): Radians {
  const turned = angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
  return turned <= -Math.PI ? turned + 2 * Math.PI : turned;
}
