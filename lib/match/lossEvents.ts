import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { plateaus } from "./clipping.ts";
import { converterLsb } from "./converterLsb.ts";
import { countedGaps } from "./countedGaps.ts";
import { doubledReadings } from "./doubledReadings.ts";
import { courseOfSine, courseOfSweep, type FrozenRun, frozenInNoise, frozenRuns } from "./frozenRuns.ts";
import { humOnLevels } from "./humOnLevels.ts";
import { jumpShown } from "./jumpShown.ts";
import { levelShifts } from "./levelShifts.ts";
import { listedShift } from "./listedShift.ts";
import { localNoise } from "./localNoise.ts";
import type { LossEvent } from "./lossEvent.ts";
import { isCourse, isSomethingElse } from "./otherThanJumps.ts";
import { phaseEvent } from "./phaseEvent.ts";
import { burstOf, rampBreaks } from "./rampBreaks.ts";
import { rampComb } from "./rampComb.ts";
import { repeatedBlocks } from "./repeatedBlocks.ts";
import { say } from "./say.ts";
import { betweenJumps, jumpsOf, typicalDeviation } from "./sineJumps.ts";
import type { Survey } from "./survey.ts";
import { aheadEvent, combEvents, jumpEvent, turnedEvent } from "./sweepEvents.ts";
import { advanceOf, sweepJumps } from "./sweepJumps.ts";
import { movingCodes, statedTurns, triangleModel } from "./sweepModel.ts";
import { usualStep } from "./sweepStep.ts";
import { trianglePhases } from "./trianglePhases.ts";
import { triangleSteps } from "./triangleSteps.ts";
import { withoutUpsets } from "./withoutUpsets.ts";

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
  const noise = fit === null ? 0 : localNoise(record.codes, fit, usable);
  for (const event of frozen(record, seen, fit, noise, usable)) add(event);
  const turns =
    kind === "sine" && fit !== null
      ? jumpsOf(record, fit, noise, usable).flatMap(
          (found) => jumpShown(record.codes, fit, found, noise, converterLsb(record)) ?? [],
        )
      : [];
  // A tone that drifts has no jumps, and its deviation is the drift's. Where nothing is left but noise, nothing need be asked.
  const isLeft = turns.length > 0 || (kind === "sine" && fit !== null && fit.residualRms > 1.2 * noise);
  const doubled = kind === "sine" ? doubledReadings(record, usable) : [];
  if (doubled.length > 0) {
    for (const at of doubled) add(doubledEvent(at, doubled.length));
    return events.sort((a, b) => a.at - b.at);
  }
  const drifts = isLeft && isCourse(record, turns, noise, usable);
  const steps = drifts || (turns.length > 0 && isSomethingElse(record, noise, usable)) ? [] : turns;
  const between = fit === null ? null : betweenJumps(record, fit, steps, usable);
  const deviation =
    between === null || steps.length > 0 || drifts ? noise : typicalDeviation(record.codes, between, usable);
  const tone = between === null ? null : { ...between, noise, deviation, usable, steps };
  const repeats = repeatedBlocks(record.codes, tone, seen, kind === "triangle", () => humOnLevels(record));
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
  if (kind === "ramp" || kind === "triangle") {
    const sweeps = sweepBreaks(record, seen, record.codes, events.length > 0);
    // Upset readings move means like a jump does; where there are none the codes are the same.
    const mended = sweeps.length > 0 ? withoutUpsets(record) : record.codes;
    for (const event of mended === record.codes ? sweeps : sweepBreaks(record, seen, mended, events.length > 0))
      add(event);
  }
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

/**
 * Jumps of a ramp or triangle, the plainest first.
 * @param codes      the record's, or with upset readings put right
 * @param isBroken   something else has broken the record already: its period says nothing any more
 */
function sweepBreaks(record: CaptureRecord, seen: Survey, codes: Int32Array, isBroken: boolean): LossEvent[] {
  const { scale, stimulus } = record;
  const isRamp = stimulus?.kind === "ramp";
  const isStraight = plateaus(record, seen).length === 0;
  const moving = movingCodes(record, seen);
  const events: LossEvent[] = [];
  const jumps = isStraight ? sweepJumps(codes, moving, isRamp, converterLsb(record)) : [];
  for (const found of jumps)
    if (!found.atApex) events.push(jumpEvent(record.codes, isRamp ? "ramp" : "triangle", found));
  const turned = isBroken || events.length > 0 ? null : statedTurns(record);
  if (turned !== null)
    for (const found of trianglePhases(codes, scale.topCode, turned)) events.push(turnedEvent(found, 1 / turned));
  // The period tells more of a jump about an apex than its size.
  for (const found of jumps) if (found.atApex) events.push(jumpEvent(record.codes, "triangle", found));
  if (!isRamp && !isBroken && events.length === 0) {
    const model = triangleModel(record, moving, [0, codes.length - 1]);
    for (const found of model === null ? [] : triangleSteps(codes, model, moving, converterLsb(record)))
      events.push(aheadEvent(found));
  }
  if (isStraight && isRamp)
    for (const found of rampBreaks(codes, 0, codes.length - 1, scale.topCode, burstOf(record)))
      events.push(
        jumpEvent(record.codes, "ramp", {
          ...found,
          readings: found.readings || Math.sign(found.codes),
          atApex: false,
        }),
      );
  const comb = isStraight && isRamp && !isBroken ? rampComb(codes, moving, converterLsb(record)) : null;
  return comb === null || !isComb(events, combEvents(comb, codes.length)) ? events : combEvents(comb, codes.length);
}

/** Turns from which a few single losses do not pass for losses at each turn, and the share of single jumps that must be at a turn, as of turns where they are few. */
const TURNS = 8;
const AT_TURNS = 0.8;

/** Whether jumps seen one by one agree with the same loss at each turn. */
function isComb(events: readonly LossEvent[], turns: readonly LossEvent[]): boolean {
  const isAt = (e: LossEvent): boolean => turns.some((t) => Math.abs(t.at - e.at) <= t.within + e.within + 2);
  const matched = events.filter(isAt).length;
  return matched >= AT_TURNS * events.length && (turns.length >= TURNS || matched >= AT_TURNS * turns.length);
}

function doubledEvent(at: number, of: number): LossEvent {
  return {
    at,
    within: 0,
    missing: 0,
    alternatives: [],
    repeated: 1,
    isFrozen: true,
    evidence: `reading ${say.count(at)} shows the one before again, and the tone falls behind by one reading there, as at ${say.plural(of - 1, "other place")}`,
  };
}

/** Runs of one code while the signal moves on. */
function frozen(
  record: CaptureRecord,
  seen: Survey,
  fit: SineFit | null,
  noise: number,
  usable: UsableCodes | null,
): LossEvent[] {
  const { codes, stimulus } = record;
  const isRamp = stimulus?.kind === "ramp";
  const lsb = converterLsb(record);
  const ends = {
    min: Math.max(seen.min, usable?.floor ?? seen.min),
    max: Math.min(seen.max, usable?.ceiling ?? seen.max),
  };
  let found: FrozenRun[] = [];
  if (stimulus?.kind === "sine" && fit !== null) {
    const course = courseOfSine(fit);
    if (course !== null) found = frozenRuns(codes, course, noise, lsb, ends);
  } else if (isRamp || stimulus?.kind === "triangle") {
    const moving = movingCodes(record, seen);
    const advance = advanceOf(codes, moving, isRamp);
    const usual = usualStep(codes, moving, 1, isRamp);
    if (advance > 0 && usual !== null)
      found = frozenRuns(codes, courseOfSweep(codes, advance, seen.max - seen.min), usual.scatter / Math.SQRT2, lsb, {
        min: Math.max(moving.floor, seen.min),
        max: Math.min(moving.ceiling, seen.max),
      });
  } else if (stimulus?.kind === "steady" || stimulus?.kind === "steps") found = frozenInNoise(codes);
  return found.map(({ first, last, moved }) => ({
    at: first + 1,
    within: 0,
    missing: 0,
    alternatives: [],
    repeated: last - first,
    isFrozen: true,
    evidence: `readings ${say.count(first)} to ${say.count(last)} all show code ${say.count(codes[first]!)} ${moved > 0 ? `while the ${stimulus?.kind} moves on by ${say.lsb(moved)}` : "although the noise hardly ever stays at one code"}`,
  }));
}
