import { alongSine } from "../signal/alongSine.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";
import { type JointPhases, jointPhases, type KnownFrequency } from "./jointPhases.ts";
import { type PhasePieces, phasePieces, quietNoise } from "./phasePieces.ts";
import { type PhaseStep, wrap } from "./phaseSteps.ts";
import { undistorted, withoutDistortion } from "./withoutDistortion.ts";

/** Price of a piece, in units of the noise's variance: three parameters, a place, and a chance of 1e-3; what is not worth it goes later. */
const PRICE = 30;
/** Share of what one sine leaves that the first pieces may leave; rounds after it, and by how much each must get better. */
const COARSE = 0.25;
const ROUNDS = 4;
const FALLS = 0.8;
/** Most jumps; a phase that needs more wanders. */
const MOST_JUMPS = 24;
/** Standard deviations, and codes at the steepest, below which a jump is none. */
const CLEAR = { deviations: 6, codes: 1 };
/** What is left for a record to be accounted for: noise of short windows, and codes for the converter's own curve, as mean squares. */
const ACCOUNTED = { noise: 1.25, codes: 0.4 };
/** What is left must fall at least by this factor. */
const LEAST_GAIN = 1.2;
/** Share of what is left that a frequency of each piece's own may take up: the phase of a tone between losses runs straight. */
const MOST_BENT = 0.3;
/** Trials of the frequency within what is stated, on either side. */
const MOST_DETUNINGS = 12;
/** Readings of a piece, at least: four tell level, amplitude and phase. */
const SHORTEST = 4;
/** Readings on either side of a block within which a jump is placed. */
const MARGIN = 3;

/** A joint fit, the readings without distortion, and what it leaves of these. */
interface Settled extends JointPhases {
  readonly readings: Float64Array;
}

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
  exclude: ((code: number) => boolean) | null,
): PhaseStep[] | null {
  const quiet = Math.max(quietNoise(codes, candidates[0]!.cycles, exclude), Math.sqrt(1 / 12));
  const accounts = (rss: number): boolean => rss / codes.length < ACCOUNTED.noise * quiet ** 2 + ACCOUNTED.codes ** 2;
  const start = whole === null ? null : undistorted(whole);
  if (known.length === 0 && start !== null && whole !== null) {
    if (accounts(whole.rss)) return null;
    // The converter's curve alone, before harmonics and drift beside it are fitted.
    if (accounts(withoutDistortion(codes, start, exclude).rss)) return null;
  }
  const one = start === null ? null : jointPhases(codes, start, null, exclude);
  const plain = one === null ? null : withoutDistortion(codes, one, exclude);
  const rssOne = plain?.rss ?? whole?.rss ?? Number.POSITIVE_INFINITY;
  if (known.length === 0 && accounts(rssOne)) return null;
  const asKnown =
    known.length === 0
      ? null
      : fitted(codes, apart([0, ...known.map((step) => step.at)]), candidates.at(-1)!.cycles, null, exclude);
  const before = asKnown === null ? null : withoutDistortion(codes, asKnown, exclude).rss;
  if (before !== null && accounts(before)) return null;
  let best: { fit: Settled; length: number; noise: number } | null = null;
  for (const { cycles, allowed } of candidates) {
    const noise = Math.max(quietNoise(codes, cycles, exclude), Math.sqrt(1 / 12));
    if (!(noise > 0)) continue;
    const coarse = Math.max(noise, COARSE * Math.sqrt(rssOne / codes.length));
    const known = { cycles, standard: allowed, noise };
    let pieces = detunings(allowed, codes.length)
      .map((off) => phasePieces(codes, cycles + off, coarse, PRICE, exclude))
      .reduce((a, b) => (b.cost < a.cost ? b : a));
    // Small jumps among large ones show at the noise's own price, unless distortion is cut in pieces then.
    for (const start of [coarse, Math.sqrt(coarse * noise), noise]) {
      if (start < coarse) pieces = phasePieces(codes, pieces.cycles, start, PRICE, exclude);
      const fit = refined(codes, pieces, start, known, exclude);
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
  if (bent(codes, fit, exclude) > MOST_BENT * fit.rss) return null;
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
function priced(fit: Settled, readings: number): number {
  return readings * Math.log(fit.rss) + 2 * (fit.starts.length - 1) * Math.log(readings);
}

/** Frequencies that are tried about one, a quarter of a cycle over the record apart. */
function detunings(allowed: number, readings: number): number[] {
  const step = 0.25 / readings;
  const side = Math.min(MOST_DETUNINGS, Math.floor(allowed / step));
  return Array.from({ length: 2 * side + 1 }, (_, i) => (i - side) * step);
}

/** Pieces, joint fit, and pieces again of the readings without the harmonics just found, until what is left falls no more: from coarse to fine, so that distortion is not cut in pieces. */
function refined(
  codes: Int32Array,
  first: PhasePieces,
  coarse: number,
  known: KnownFrequency,
  exclude: ((code: number) => boolean) | null,
): Settled | null {
  let pieces = first;
  let noise = coarse;
  let best: Settled | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    // Distortion that is cut in pieces at first leaves too many of them.
    for (; best === null && pieces.starts.length > MOST_JUMPS + 1 && noise < 16 * coarse; noise *= 2)
      pieces = phasePieces(codes, pieces.cycles, 2 * noise, PRICE, exclude);
    if (pieces.starts.length < 2 || pieces.starts.length > MOST_JUMPS + 1) break;
    const fit = settled(codes, pieces.starts, pieces.length, pieces.cycles, known, exclude);
    if (fit === null) break;
    const { readings, rss } = withoutDistortion(codes, fit, exclude);
    if (best !== null && rss >= best.rss) break;
    best = { ...fit, rss, readings };
    const left = Math.max(known.noise, Math.sqrt(rss / Math.max(1, fit.free)));
    if (left > FALLS * noise) break;
    noise = left;
    pieces = phasePieces(readings, fit.cycles, noise, PRICE, exclude);
  }
  return best;
}

/** Places and phases in turn, and jumps that do not stand out taken back, the weakest first. */
function settled(
  codes: Int32Array,
  from: readonly number[],
  length: number,
  cycles: number,
  known: KnownFrequency,
  exclude: ((code: number) => boolean) | null,
): JointPhases | null {
  let starts = [...from];
  let fit = fitted(codes, starts, cycles, known, exclude);
  for (let round = 0; fit !== null && round < 2; round++) {
    const placed = starts.map((_, k) => (k === 0 ? 0 : placeOf(codes, fit!, k, length + MARGIN, known.noise).at));
    starts = apart(placed);
    fit = fitted(codes, starts, fit.cycles, known, exclude);
  }
  while (fit !== null && starts.length > 1) {
    const { phases, jumpVariance, amplitude } = fit;
    const variance = Math.max(fit.rss / Math.max(1, fit.free), 1 / 12);
    const clear = jumpVariance.map((v, k) => {
      const jump = Math.abs(wrap(phases[k + 1]! - phases[k]!));
      return Math.min(jump / Math.sqrt(v * variance) / CLEAR.deviations, (jump * amplitude) / CLEAR.codes);
    });
    const weakest = clear.indexOf(Math.min(...clear));
    if (clear[weakest]! >= 1) break;
    starts = starts.filter((_, k) => k !== weakest + 1);
    fit = fitted(codes, starts, fit.cycles, known, exclude);
  }
  return fit;
}

/** Starts that leave each piece enough readings. */
function apart(starts: readonly number[]): number[] {
  const kept = starts.slice(0, 1);
  for (const at of starts) if (at - kept.at(-1)! >= SHORTEST) kept.push(at);
  return kept;
}

function fitted(
  codes: Int32Array,
  starts: readonly number[],
  cycles: number,
  known: KnownFrequency | null,
  exclude: ((code: number) => boolean) | null,
): JointPhases | null {
  const parts = starts.map((first, k) =>
    fitSine(codes, {
      frequency: cycles,
      fixed: true,
      first,
      last: (starts[k + 1] ?? codes.length) - 1,
      ...(exclude === null ? {} : { exclude }),
    }),
  );
  const longest = parts.reduce((a, b) => ((b?.readings ?? 0) > (a?.readings ?? 0) ? b : a), null);
  if (longest === null) return null;
  const phases = parts.map((p) => p?.phase ?? longest.phase);
  return jointPhases(codes, { cycles, amplitude: longest.amplitude, starts, phases }, known, exclude);
}

/** The reading at which piece k takes over from the one before, and how far that may be off. */
function placeOf(
  codes: Int32Array,
  fit: JointPhases,
  k: number,
  near: number,
  noise: number,
): { at: number; within: number } {
  const { starts, phases, cycles, offset, amplitude } = fit;
  const first = Math.max(starts[k - 1]! + 1, starts[k]! - near);
  const last = Math.min((starts[k + 1] ?? codes.length) - 1, starts[k]! + near);
  const missed = (n: number, phase: number): number => {
    const turns = cycles * n;
    return (codes[n]! - offset - amplitude * Math.cos(2 * Math.PI * (turns - Math.floor(turns)) + phase)) ** 2;
  };
  let sum = 0;
  let best = { at: first, cost: 0 };
  const costs = [0];
  for (let n = first; n < last; n++) {
    sum += missed(n, phases[k - 1]!) - missed(n, phases[k]!);
    costs.push(sum);
    if (sum < best.cost) best = { at: n + 1, cost: sum };
  }
  let within = 0;
  costs.forEach((cost, i) => {
    if (cost < best.cost + 4 * noise ** 2) within = Math.max(within, Math.abs(first + i - best.at));
  });
  return { at: best.at, within };
}

/** Lines beside the tone that are taken off, and how many cycles over the record they must stand from it: nearer ones are what a jump makes. */
const MOST_LINES = 3;
const LEAST_APART = 3;

/** Sum of squares that one sine leaves beside its strongest other lines: hum turns the phase of a tone of few cycles as well. */
function withoutLines(readings: Float64Array, { cycles, offset, amplitude, phases }: JointPhases): number {
  const tone = alongSine({ cyclesPerReading: cycles, offset, amplitude, phase: phases[0]! });
  const left = readings.map((y, n) => y - tone(n));
  for (let i = 0; i < MOST_LINES; i++) {
    const line = fitSine(left);
    if (line === null || Math.abs(line.cyclesPerReading - cycles) * left.length < LEAST_APART) break;
    const sine = alongSine(line);
    for (let n = 0; n < left.length; n++) left[n]! -= sine(n);
  }
  return left.reduce((sum, r) => sum + r * r, 0);
}

/** Sum of squares that a frequency of each piece's own would take up. */
function bent(codes: Int32Array, fit: Settled, exclude: ((code: number) => boolean) | null): number {
  const { starts, phases, cycles, offset, amplitude, readings } = fit;
  let total = 0;
  starts.forEach((first, k) => {
    const last = (starts[k + 1] ?? codes.length) - 1;
    const middle = (first + last) / 2;
    let [rd, dd] = [0, 0];
    for (let n = first; n <= last; n++) {
      if (exclude?.(codes[n]!)) continue;
      const turns = cycles * n;
      const theta = 2 * Math.PI * (turns - Math.floor(turns)) + phases[k]!;
      const d = -amplitude * Math.sin(theta) * (n - middle);
      rd += (readings[n]! - offset - amplitude * Math.cos(theta)) * d;
      dd += d * d;
    }
    if (dd > 0) total += (rd * rd) / dd;
  });
  return total;
}
