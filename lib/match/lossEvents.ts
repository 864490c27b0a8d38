import type { Ratio } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { plateaus } from "./clipping.ts";
import { converterLsb } from "./converterLsb.ts";
import { fitStretch } from "./fitRecord.ts";
import { levelShifts } from "./levelShifts.ts";
import { listedShift } from "./listedShift.ts";
import { localNoise } from "./localNoise.ts";
import { phaseBlocks } from "./phaseBlocks.ts";
import { type PhaseStep, phaseSteps, wrap } from "./phaseSteps.ts";
import { burstOf, rampBreaks } from "./rampBreaks.ts";
import { repeatedBlocks } from "./repeatedBlocks.ts";
import { robustDeviation } from "./robust.ts";
import { say } from "./say.ts";
import { slowPhaseSteps } from "./slowPhaseSteps.ts";
import type { Survey } from "./survey.ts";
import { movingCodes, statedTurns, triangleModel } from "./sweepModel.ts";
import { timeStampRate } from "./timeStampRate.ts";
import { type TriangleJump, triangleJumps } from "./triangleJumps.ts";
import { type TrianglePhaseJump, trianglePhases } from "./trianglePhases.ts";
import { type TriangleStep, triangleSteps } from "./triangleSteps.ts";
import { exclusion, type UsableCodes } from "./usableCodes.ts";

/** One place where the log does not go on evenly. */
export interface LossEvent {
  /** First reading after it; for a repetition, the first repeated reading. */
  readonly at: number;
  readonly within: number;
  /** Readings missing before `at`; 0 for a repetition. */
  readonly missing: number;
  /** Other counts that the evidence allows just as well. */
  readonly alternatives: readonly number[];
  /** Readings that show earlier ones again, from `at` on. */
  readonly repeated: number;
  /** How it was seen, with figures. */
  readonly evidence: string;
}

/** rms about the fit below which noise does not smooth the quantiser: 1/√12 and a fifth of an LSB of noise. */
const QUIET = 0.36;
/** With fewer blocks than the first there is nothing to compare; between both, a jump that the blocks do not show is looked for reading by reading. */
const LEAST_BLOCKS = 16;
const ENOUGH_BLOCKS = 40;
/** A jump of fewer standard deviations than this is weak evidence by itself. */
const WEAK = 12;
/** Cycles per reading below which one reading's advance is told from two, whatever distortion does. */
const SLOW = 0.02;
/** A jump, rad, that nearly all losses exceed unless one reading's advance is as small. */
const NEXT_TO_NONE = 0.02;
/** Counts of lost readings that are tried for a jump of phase. */
const MOST_MISSING = 5000;

/**
 * Every place where readings are missing or come twice in a row, from the best evidence there is: sequence numbers, time stamps, equal blocks, jumps of
 * a sine's phase, breaks in a ramp. In order of place; the same place is not reported twice.
 */
export function lossEvents(
  record: CaptureRecord,
  seen: Survey,
  fit: SineFit | null,
  usable: UsableCodes | null,
): LossEvent[] {
  const events: LossEvent[] = [];
  const add = (event: LossEvent): void => {
    const near = (other: LossEvent): boolean =>
      Math.abs(other.at - event.at) <= other.within + event.within + 2 + Math.max(other.repeated, event.repeated);
    if (!events.some(near)) events.push(event);
  };
  for (const event of countedGaps(record)) add(event);
  const kind = record.stimulus?.kind;
  const noise = fit === null ? 0 : localNoise(record.codes, fit, exclusion(usable));
  const steps = kind === "sine" && fit !== null ? jumpsOf(record, fit, noise, usable) : [];
  const between = fit === null ? null : betweenJumps(record, fit, steps, usable);
  const deviation = between === null || steps.length > 0 ? noise : typicalDeviation(record.codes, between, usable);
  const tone = between === null ? null : { ...between, noise, deviation, usable, steps };
  const repeats = repeatedBlocks(record.codes, tone, alike(seen), kind === "triangle");
  for (const block of repeats) {
    // The copy of a block may be longer than what stands between: a period of its own, one event all the same.
    add({
      at: block.first,
      within: 0,
      missing: 0,
      alternatives: [],
      repeated: block.length,
      evidence: `readings ${say.count(block.first)} to ${say.count(block.first + block.length - 1)} show those ${say.count(block.lag)} before again, value for value`,
    });
  }
  if (tone !== null)
    for (const step of steps) {
      const event = phaseEvent(record.codes, tone, noise, step);
      if (event !== null) add(event);
    }
  if (kind === "triangle" && plateaus(record, seen).length === 0)
    for (const found of triangleJumps(record.codes, record.scale.topCode, converterLsb(record))) add(jumpEvent(found));
  const turned = events.length === 0 ? statedTurns(record) : null;
  if (turned !== null)
    for (const found of trianglePhases(record.codes, record.scale.topCode, turned)) add(turnedEvent(found, 1 / turned));
  if (kind === "triangle" && events.length === 0) {
    const moving = movingCodes(record, seen);
    const model = triangleModel(record, moving, [0, record.codes.length - 1]);
    for (const found of model === null ? [] : triangleSteps(record.codes, model, moving, converterLsb(record)))
      add(aheadEvent(found));
  }
  if (kind === "ramp" && plateaus(record, seen).length === 0)
    for (const found of rampBreaks(record.codes, 0, record.codes.length - 1, record.scale.topCode, burstOf(record)))
      add(breakEvent(record.codes, found));
  // One loss that mends everything says more than what single steps show.
  const whole = events.length === 0 ? listedShift(record) : null;
  for (const { first, last, readings } of whole === null ? levelShifts(record) : [whole])
    add({
      at: Math.round((first + last) / 2),
      within: Math.ceil((last - first) / 2),
      missing: readings,
      alternatives: [],
      repeated: 0,
      evidence: `the levels after reading ${say.count(first)} are reached ${say.plural(readings, "reading")} before their turn in the list`,
    });
  return events.sort((a, b) => a.at - b.at);
}

/** Losses that the log itself counts, by its running numbers or its time stamps. */
export function countedGaps(record: CaptureRecord): LossEvent[] {
  return [...sequenceGaps(record), ...stampGaps(record)];
}

/** Chance that two readings of a record are equal, wherever they stand; 0 where the codes spread too far to count. */
function alike(seen: Survey): number {
  if (seen.counts === null) return 0;
  let sum = 0;
  for (const count of seen.counts) sum += (count / seen.readings) ** 2;
  return sum;
}

function sequenceGaps(record: CaptureRecord): LossEvent[] {
  const { sequence } = record.log;
  if (sequence === null) return [];
  return sequence.gaps
    .filter((gap) => gap.missing > 0)
    .map(({ at, missing }) => ({
      at,
      within: 0,
      missing,
      alternatives: [],
      repeated: 0,
      evidence: `${sequence.name} leaves out ${say.plural(missing, "number")} before reading ${say.count(at)}`,
    }));
}

/** Most intervals that may be long before the sampling counts as uneven rather than as losing readings. */
const MOST_LONG_INTERVALS: Ratio = 0.05;

/** Intervals of two or more periods, where a stamp resolves one reading. */
function stampGaps(record: CaptureRecord): LossEvent[] {
  const { time } = record.log;
  if (time === null || time.seconds.length !== record.codes.length) return [];
  const rate = timeStampRate(time);
  if (rate === null || rate.period < 8 * time.resolution) return [];
  const events: LossEvent[] = [];
  for (let n = 1; n < time.seconds.length; n++) {
    const periods = (time.seconds[n]! - time.seconds[n - 1]!) / rate.period;
    const missing = Math.round(periods) - 1;
    // A quarter of a period off a whole number is a late reading, not a lost one.
    if (!(missing >= 1) || Math.abs(periods - missing - 1) > 0.25) continue;
    events.push({
      at: n,
      within: 0,
      missing,
      alternatives: [],
      repeated: 0,
      evidence: `the time stamps leave ${say.seconds(periods * rate.period)} before reading ${say.count(n)}, ${say.number(periods)} periods`,
    });
  }
  return events.length > Math.max(20, MOST_LONG_INTERVALS * time.seconds.length) ? [] : events;
}

/** The sine of the longest stretch between jumps, its phase carried back to before the first: what a record with several losses is held against. */
function betweenJumps(
  record: CaptureRecord,
  fit: SineFit,
  steps: readonly PhaseStep[],
  usable: UsableCodes | null,
): SineFit {
  if (steps.length === 0) return fit;
  const edges = [0, ...steps.map((step) => step.at), record.codes.length];
  let longest = 0;
  for (let i = 1; i + 1 < edges.length; i++)
    if (edges[i + 1]! - edges[i]! > edges[longest + 1]! - edges[longest]!) longest = i;
  const own = fitStretch(record, usable, [edges[longest]!, edges[longest + 1]! - 1]);
  if (own === null) return fit;
  const jumped = steps.slice(0, longest).reduce((sum, step) => sum + step.step, 0);
  return { ...own, phase: wrap(own.phase - jumped) };
}

/** Readings that tell the typical deviation well enough. */
const ASKED = 4096;

/** Deviation of the bulk of readings from a tone, which a repeated block in a few of them does not enter; codes. */
function typicalDeviation(codes: Int32Array, fit: SineFit, usable: UsableCodes | null): number {
  const exclude = exclusion(usable);
  const stride = Math.max(1, Math.floor(codes.length / ASKED));
  const left: number[] = [];
  for (let n = 0; n < codes.length; n += stride) {
    const turns = fit.cyclesPerReading * n;
    const phase = 2 * Math.PI * (turns - Math.floor(turns)) + fit.phase;
    if (!exclude?.(codes[n]!)) left.push(codes[n]! - fit.offset - fit.amplitude * Math.cos(phase));
  }
  return robustDeviation(left, 0);
}

function jumpsOf(record: CaptureRecord, fit: SineFit, noise: number, usable: UsableCodes | null): PhaseStep[] {
  const { codes } = record;
  const blocks = phaseBlocks(codes, fit, exclusion(usable));
  const byBlocks = blocks !== null && blocks.count >= LEAST_BLOCKS ? phaseSteps(blocks, fit, codes) : [];
  if (byBlocks.length > 0 || (blocks !== null && blocks.count >= ENOUGH_BLOCKS)) return byBlocks;
  return usable === null ? slowPhaseSteps(codes, fit, noise) : [];
}

/** What a jump of phase means in readings; null where no whole number of readings explains it. */
function phaseEvent(codes: Int32Array, fit: SineFit, noise: number, step: PhaseStep): LossEvent | null {
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  // A quiet quantiser's errors do not average out like noise: a jump must then move the signal by a code.
  if (noise < QUIET && Math.abs(step.step) * fit.amplitude < 1) return null;
  // Where a jump is only just above chance, less than one and a half readings must be one reading, and not the fraction left of many.
  const size = Math.abs(step.step);
  const weak = size < WEAK * step.standard;
  if (weak && size < 1.5 * omega && Math.abs(size - omega) > Math.max(3 * step.standard, 0.1 * omega)) return null;
  // Distortion bends the phase of a slow tone by a share of one reading's advance, which the noise does not know.
  const near = fit.cyclesPerReading < SLOW ? 0.12 * omega : 0;
  const counts = (sign: 1 | -1): number[] => {
    const found: number[] = [];
    for (let n = 1; n <= MOST_MISSING && found.length < 40; n++) {
      const u = Math.hypot(step.standard, 2 * Math.PI * n * fit.standard.cyclesPerReading, 1e-6);
      if (Math.abs(wrap(sign * omega * n - step.step)) <= Math.max(3 * u, near)) found.push(n);
    }
    return found;
  };
  const jump = `the phase of the fitted sine jumps by ${say.degrees(step.step)}`;
  // Where the signal hardly moves equal readings say nothing.
  const telling = Math.abs(step.step) * fit.amplitude > 4 * noise + 2;
  for (const n of telling ? counts(-1).slice(0, 8) : []) {
    // One or two equal readings happen by chance unless the place is known and the signal moves on.
    const moves = 2 * fit.amplitude * Math.abs(Math.sin((omega * n) / 2));
    if (n <= 3 && moves < 12 * noise + 6) continue;
    const at = equalBlock(codes, step.at, n, n <= 3 ? step.within : step.within + 3);
    if (at !== null && movedOn(codes, fit, step, at, n, 4 * noise + 2))
      return {
        at,
        within: 0,
        missing: 0,
        alternatives: [],
        repeated: n,
        evidence: `${jump} before reading ${say.count(at)}, and the ${say.plural(n, "reading")} from there show those before again`,
      };
  }
  const missing = counts(1);
  if (missing.length === 0) return null;
  // A jump of far less than one reading's advance would be a loss that ends next to a whole period by chance, 0.6 % of losses: a source whose phase wanders makes
  // such jumps all the time.
  if (size < 0.5 * omega && size < NEXT_TO_NONE) return null;
  return {
    at: step.at,
    within: step.within,
    missing: missing[0]!,
    alternatives: missing.slice(1),
    repeated: 0,
    evidence: `${jump} before reading ${say.count(step.at)}${step.within > 0 ? ` (±${say.count(step.within)})` : ""}`,
  };
}

/** Whether most of a repeated block's readings should have been others: where the tone hardly moves, equality says nothing. */
function movedOn(codes: Int32Array, fit: SineFit, step: PhaseStep, at: number, n: number, far: number): boolean {
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  let moved = 0;
  // The phase at the block is not known from a fit across jumps; from the readings before it, it is.
  const before = fitSine(codes, {
    first: Math.max(0, at - Math.max(32, 2 * n)),
    last: at - 1,
    frequency: fit.cyclesPerReading,
    fixed: true,
  });
  if (before === null) return Math.abs(step.step) * fit.amplitude > far;
  const value = (i: number): number => before.offset + before.amplitude * Math.cos(omega * i + before.phase);
  for (let i = at; i < at + n; i++) if (Math.abs(value(i) - value(i - n)) > far) moved++;
  return moved >= Math.max(1, 0.4 * n);
}

/** Where, near `at`, n readings equal the n before them; null where nowhere. One reading alone may agree by chance, so that a move is asked for. */
function equalBlock(codes: Int32Array, at: number, n: number, near: number): number | null {
  for (let away = 0; away <= near; away++)
    for (const start of away === 0 ? [at] : [at - away, at + away]) {
      if (start - n < 0 || start + n > codes.length) continue;
      let same = 0;
      for (let i = 0; i < n; i++) if (codes[start + i] === codes[start + i - n]) same++;
      if (same === n) return start;
    }
  return null;
}

function jumpEvent(found: TriangleJump): LossEvent {
  const { at, codes, readings } = found;
  return {
    at,
    within: 1,
    missing: readings,
    alternatives: [],
    repeated: 0,
    evidence: `the triangle jumps by ${say.lsb(codes)} before reading ${say.count(at)}`,
  };
}

function turnedEvent({ at, within, missing }: TrianglePhaseJump, period: number): LossEvent {
  return {
    at,
    within,
    missing,
    alternatives: [1, 2, 3].map((k) => missing + Math.round(k * period)),
    repeated: 0,
    evidence: `the triangle's period of ${say.number(period)} readings is broken before reading ${say.count(at)}`,
  };
}

function aheadEvent({ at, within, readings }: TriangleStep): LossEvent {
  return {
    at,
    within,
    missing: readings,
    alternatives: [],
    repeated: 0,
    evidence: `from reading ${say.count(at)} (±${say.count(within)}) on the triangle runs ${say.plural(readings, "reading")} ahead of the one before`,
  };
}

function breakEvent(
  codes: Int32Array,
  found: { at: number; within: number; codes: number; readings: number },
): LossEvent {
  const forward = found.codes > 0;
  if (!forward)
    for (let away = 0; away <= found.within; away++)
      for (const n of [-found.readings - away, -found.readings + away]) {
        const at = n < 8 ? null : equalBlock(codes, found.at, n, found.within);
        if (at !== null)
          return {
            at,
            within: 0,
            missing: 0,
            alternatives: [],
            repeated: n,
            evidence: `the ramp goes back by ${say.lsb(-found.codes)} at reading ${say.count(at)}, and the ${say.plural(n, "reading")} from there show those before again`,
          };
      }
  return {
    at: found.at,
    within: found.within,
    missing: forward ? Math.max(1, found.readings) : 0,
    alternatives: [],
    repeated: forward ? 0 : Math.max(1, -found.readings),
    evidence: forward
      ? `the ramp jumps ahead by ${say.lsb(found.codes)} before reading ${say.count(found.at)}`
      : `the ramp goes back by ${say.lsb(-found.codes)} at reading ${say.count(found.at)}`,
  };
}
