import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { FALSE_ALARM } from "./context.ts";
import { POOR } from "./fitRecord.ts";
import { localNoise } from "./localNoise.ts";
import { turnedByDistortion } from "./partOfCycle.ts";
import { quietNoise } from "./phasePieces.ts";
import { CLOCK_ALLOWANCE, expectedCycles } from "./sampleRate.ts";
import { oneSine, type StaircaseFit, staircaseFit } from "./staircaseFit.ts";
import { bestStaircase, type Staircase, staircaseSums } from "./staircaseSums.ts";

/** The same number of readings missing at every turn of a buffer. */
export interface PeriodicLoss {
  /** Logged readings from one loss to the next. */
  readonly every: number;
  /** The first reading after the first loss; good to `within` readings. */
  readonly first: number;
  readonly within: number;
  /** Readings missing each time, the least number that explains the phase. */
  readonly missing: number;
  /** The tone between the losses, cycles per reading, and rms about it, codes. */
  readonly cyclesPerReading: number;
  readonly residualRms: number;
  /** rms about one sine through the whole record, codes. */
  readonly wholeRms: number;
}

/** Most readings that are looked for at one turn, least turns, and the shortest buffer. */
const MOST_MISSING = 64;
const LEAST_TURNS = 3;
const SHORTEST = 12;
/** Readings looked at: the losses of a longer record show in its beginning as well. */
const MOST_READINGS = 1 << 15;
/** Places of the first loss that are tried at first, as parts of a buffer; then halved. */
const PARTS = 32;
/** Buffers and counts of which the place is refined, and that are worked out to the end. */
const REFINED = 24;
const KEPT = 6;
/** The strongest line is the one that the jump, taken between −½ and ½ turn, leads to; near ½ its neighbour, one turn a buffer away, is as strong. */
const SIDE_LINES = [0, -1, 1];
/** Trials of the frequency within what is stated, on either side. */
const MOST_DETUNINGS = 12;
/** Pieces between losses that are added up before the search is given up: a second or so, for a frequency known to per cents only. */
const MOST_WORK = 3e7;
/** What a converter's own curve may leave beside the noise, codes rms, and standard deviations of a fitted frequency that are allowed for. */
const INL_ALLOWANCE = 3;
const ALLOWED_DEVIATIONS = 5;
/** Turns from which no single loss passes for many, and the share of the excess over the noise that fewer may leave. */
const TELLING_TURNS = 6;
const LEFT = 0.1;

/**
 * Readings lost at every turn of a buffer, seen in a sine of stated frequency. The phase then climbs by a staircase, whose mean slope passes for a higher
 * frequency: a tone of c cycles per reading, k of every B + k readings lost, shows its strongest line at c + (k·c + m)/B, m the whole number that
 * leaves the least jump, or its neighbour. So each k
 * and m name a B, and what is tried is a handful of staircases (B, k, first place) with the stated frequency, within its accuracy.
 *
 * Looked for only where the line is not where it is stated, or one sine leaves more than a sound chain does. Threshold: M·ln(rss₁/rss₂) of one sine against
 * the staircase, both with noise of their own; for white noise it is a chi-square with one degree of freedom, and passes 2·ln(trials/FALSE_ALARM) in less than
 * one of 1/FALSE_ALARM records without losses. A tone that is only mistuned fits the staircase worse than one sine.
 * @param whole  one sine through the whole record
 */
export function periodicLoss(
  record: CaptureRecord,
  whole: SineFit | null,
  usable: UsableCodes | null,
): PeriodicLoss | null {
  const { stimulus, spec } = record;
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null || whole === null)
    return null;
  const stated = expectedCycles(stimulus.frequency, spec.sampleRate);
  const allowed = stated * (stimulus.accuracy.frequency + CLOCK_ALLOWANCE);
  const away = whole.cyclesPerReading - stated;
  const isOff = Math.abs(away) > allowed + ALLOWED_DEVIATIONS * whole.standard.cyclesPerReading;
  if (!isOff || !(stated > 0)) return null;
  const { cyclesPerReading, residualRms: left, amplitude } = whole;
  const readings = record.codes.length;
  if (
    Math.abs(away) * readings <
    turnedByDistortion(left / amplitude, Math.min(cyclesPerReading, 0.5 - cyclesPerReading) * readings)
  )
    return null;

  const codes = record.codes.length > MOST_READINGS ? record.codes.subarray(0, MOST_READINGS) : record.codes;
  const sums = staircaseSums(codes, whole.offset, stated, usable);
  const detuning = detunings(allowed, codes.length);
  let kept: Staircase[] = [];
  let trials = 0;
  let work = 0;
  const tried = new Set<number>();
  for (const m of SIDE_LINES)
    for (let missing = 1; missing <= MOST_MISSING; missing++) {
      const jump = missing * stated - Math.round(missing * stated) + m;
      const ideal = jump / away;
      if (!(ideal > 0 && ideal < (1.2 * codes.length) / LEAST_TURNS)) continue;
      // A part of a turn left over at the end tilts the line through a staircase by up to 0.75·(B/M)² of its slope.
      const share = (allowed + ALLOWED_DEVIATIONS * whole.standard.cyclesPerReading) / Math.abs(away);
      const side = 1 + ideal * (Math.min(share, 0.5) + 0.75 * (ideal / codes.length) ** 2);
      const last = Math.min(ideal + side, codes.length / LEAST_TURNS);
      for (let every = Math.max(SHORTEST, Math.floor(ideal - side)); every <= last; every++) {
        if (work > MOST_WORK) break;
        if (tried.has(every * 1024 + missing)) continue;
        tried.add(every * 1024 + missing);
        trials += every * detuning.length;
        work += Math.min(PARTS, every) * detuning.length * Math.ceil(codes.length / every);
        const best = bestStaircase(
          sums,
          every,
          missing,
          stated,
          detuning,
          0,
          every,
          Math.max(1, Math.floor(every / PARTS)),
        );
        kept.push(best);
        if (kept.length > 8 * REFINED) kept = strongest(kept, REFINED);
      }
    }
  if (kept.length === 0) return null;
  // The place of the first loss, ever finer.
  const refined = strongest(kept, REFINED).map((found) => {
    let best = found;
    for (let step = Math.floor(found.every / PARTS / 2); step >= 1; step >>= 1) {
      const near = bestStaircase(
        sums,
        found.every,
        found.missing,
        stated,
        detuning,
        best.first - step,
        best.first + step,
        step,
      );
      if (near.power > best.power) best = near;
    }
    return best;
  });
  const slack = allowed + ALLOWED_DEVIATIONS * whole.standard.cyclesPerReading;
  let best: { fit: StaircaseFit; found: Staircase } | null = null;
  for (const found of strongest(refined, KEPT)) {
    const fit = staircaseFit(codes, found, whole, usable);
    if (fit === null || Math.abs(fit.cycles - stated) > slack) continue;
    if (best === null || fit.rss < best.fit.rss) best = { fit, found };
  }
  const one = oneSine(codes, whole, usable);
  if (best === null || one === null || best.fit.rss > one.rss) return null;
  best = settle(codes, best.fit, best.found, whole, usable);
  const { fit, found } = best;
  if (Math.abs(fit.cycles - stated) > slack) return null;
  const noise = localNoise(record.codes, whole, usable);
  const threshold = 2 * Math.log(trials / FALSE_ALARM);
  const residualRms = Math.sqrt(fit.rss / fit.readings);
  if (!(fit.readings * Math.log(one.rss / fit.rss) > threshold)) return null;
  // A few turns take up part of what one loss somewhere leaves; then they must account for nearly all of it.
  const excess = one.rss / one.readings - noise ** 2;
  if (codes.length < TELLING_TURNS * found.every && residualRms ** 2 > noise ** 2 + LEFT * excess) return null;
  // Of pieces that are broken themselves the noise is no measure.
  const quiet = Math.min(noise, quietNoise(codes, fit.cycles, usable) || noise);
  if (residualRms > 2 * quiet + INL_ALLOWANCE && residualRms > POOR * fit.amplitude) return null;
  return {
    every: found.every,
    first: found.first === 0 ? found.every : found.first,
    within: placeError(residualRms, fit, found),
    missing: found.missing,
    cyclesPerReading: fit.cycles,
    residualRms,
    wholeRms: Math.sqrt(one.rss / one.readings),
  };
}

function strongest(found: readonly Staircase[], most: number): Staircase[] {
  return [...found].sort((a, b) => b.power - a.power).slice(0, most);
}

/** Frequencies that are tried about the stated one, a third of a line apart. */
function detunings(allowed: number, readings: number): number[] {
  const step = 1 / 3 / readings;
  const side = Math.min(MOST_DETUNINGS, Math.floor(allowed / step));
  return Array.from({ length: 2 * side + 1 }, (_, i) => (i - side) * step);
}

/** Neighbouring places and buffers by the whole fit, until none is better. */
function settle(
  codes: Int32Array,
  start: StaircaseFit,
  from: Staircase,
  whole: SineFit,
  usable: UsableCodes | null,
): { fit: StaircaseFit; found: Staircase } {
  let best = { fit: start, found: from };
  for (let step = Math.max(1, from.every >> 4), rounds = 0; step >= 1 && rounds < 40; rounds++) {
    const tries = [-step, step].map((by) => {
      const first = (((best.found.first + by) % from.every) + from.every) % from.every;
      return { ...best.found, first, cycles: best.fit.cycles };
    });
    let better = false;
    for (const found of tries) {
      const fit = staircaseFit(codes, found, whole, usable);
      if (fit !== null && fit.rss < best.fit.rss) {
        best = { fit, found };
        better = true;
      }
    }
    if (!better) step >>= 1;
  }
  return best;
}

/** How far the place may be off: one reading more or less on the wrong side costs the jump of phase at every turn. */
function placeError(residualRms: number, fit: StaircaseFit, { every, missing }: Staircase): number {
  const turns = fit.readings / every;
  const jump = 2 * Math.abs(Math.sin(Math.PI * fit.cycles * missing)) * fit.amplitude;
  // Mean square of a jump over the phases is half its peak's; 30 in units of the noise is past any chance.
  return Math.min(every >> 2, Math.ceil((30 * residualRms ** 2) / (turns * Math.max(jump ** 2 / 2, 1e-9))) - 1);
}
