import { fitSine } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { type JointPhases, jointPhases, type KnownFrequency } from "./jointPhases.ts";
import { type PhasePieces, phasePieces } from "./phasePieces.ts";
import { wrap } from "./phaseSteps.ts";
import { withoutDistortion } from "./withoutDistortion.ts";

/** Price of a piece, in units of the noise's variance: three parameters, a place, and a chance of 1e-3; what is not worth it goes later. */
export const PRICE = 30;
/** Rounds from coarse to fine, and by how much each must get better. */
const ROUNDS = 4;
const FALLS = 0.8;
/** Most jumps; a phase that needs more wanders. */
const MOST_JUMPS = 24;
/** Standard deviations, and codes at the steepest, below which a jump is none. */
const CLEAR = { deviations: 6, codes: 1 };
/** Readings of a piece, at least: four tell level, amplitude and phase. */
const SHORTEST = 4;
/** Readings on either side of a block within which a jump is placed. */
export const MARGIN = 3;

/** A joint fit, the readings without distortion, and what it leaves of these. */
export interface SettledJumps extends JointPhases {
  readonly readings: Float64Array;
}

/** Pieces, joint fit, and pieces again of the readings without the harmonics just found, until what is left falls no more: from coarse to fine, so that distortion is not cut in pieces. */
export function refined(
  codes: Int32Array,
  first: PhasePieces,
  coarse: number,
  known: KnownFrequency,
  usable: UsableCodes | null,
): SettledJumps | null {
  let pieces = first;
  let noise = coarse;
  let best: SettledJumps | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    // Distortion that is cut in pieces at first leaves too many of them.
    for (; best === null && pieces.starts.length > MOST_JUMPS + 1 && noise < 16 * coarse; noise *= 2)
      pieces = phasePieces(codes, pieces.cycles, 2 * noise, PRICE, usable);
    if (pieces.starts.length < 2 || pieces.starts.length > MOST_JUMPS + 1) break;
    const fit = settled(codes, pieces.starts, pieces.length, pieces.cycles, known, usable);
    if (fit === null) break;
    const { readings, rss } = withoutDistortion(codes, fit, usable);
    if (best !== null && rss >= best.rss) break;
    best = { ...fit, rss, readings };
    const left = Math.max(known.noise, Math.sqrt(rss / Math.max(1, fit.free)));
    if (left > FALLS * noise) break;
    noise = left;
    pieces = phasePieces(readings, fit.cycles, noise, PRICE, usable);
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
  usable: UsableCodes | null,
): JointPhases | null {
  let starts = [...from];
  let fit = fitted(codes, starts, cycles, known, usable);
  for (let round = 0; fit !== null && round < 2; round++) {
    const placed = starts.map((_, k) => (k === 0 ? 0 : placeOf(codes, fit!, k, length + MARGIN, known.noise).at));
    starts = apart(placed);
    fit = fitted(codes, starts, fit.cycles, known, usable);
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
    fit = fitted(codes, starts, fit.cycles, known, usable);
  }
  return fit;
}

/** Starts that leave each piece enough readings. */
export function apart(starts: readonly number[]): number[] {
  const kept = starts.slice(0, 1);
  for (const at of starts) if (at - kept.at(-1)! >= SHORTEST) kept.push(at);
  return kept;
}

export function fitted(
  codes: Int32Array,
  starts: readonly number[],
  cycles: number,
  known: KnownFrequency | null,
  usable: UsableCodes | null,
): JointPhases | null {
  const parts = starts.map((first, k) =>
    fitSine(codes, {
      frequency: cycles,
      fixed: true,
      first,
      last: (starts[k + 1] ?? codes.length) - 1,
      usable,
    }),
  );
  const longest = parts.reduce((a, b) => ((b?.readings ?? 0) > (a?.readings ?? 0) ? b : a), null);
  if (longest === null) return null;
  const phases = parts.map((p) => p?.phase ?? longest.phase);
  return jointPhases(codes, { cycles, amplitude: longest.amplitude, starts, phases }, known, usable);
}

/** The reading at which piece k takes over from the one before, and how far that may be off. */
export function placeOf(
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
