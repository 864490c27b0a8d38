import { equalBlock } from "./equalBlock.ts";
import type { LossEvent } from "./lossEvent.ts";
import type { RampComb } from "./rampComb.ts";
import { say } from "./say.ts";
import type { SweepJump } from "./sweepJumps.ts";
import type { TrianglePhaseJump } from "./trianglePhases.ts";
import type { TriangleStep } from "./triangleSteps.ts";

export function turnedEvent({ at, within, missing }: TrianglePhaseJump, period: number): LossEvent {
  return {
    at,
    within,
    missing,
    alternatives: [1, 2, 3].map((k) => missing + Math.round(k * period)),
    repeated: 0,
    evidence: `the triangle's period of ${say.number(period)} readings is broken before reading ${say.count(at)}`,
  };
}

export function aheadEvent({ at, within, readings }: TriangleStep): LossEvent {
  return {
    at,
    within,
    missing: readings,
    alternatives: [],
    repeated: 0,
    evidence: `from reading ${say.count(at)} (±${say.count(within)}) on the triangle runs ${say.plural(readings, "reading")} ahead of the one before`,
  };
}

/** The same loss at every turn of a buffer. */
export function combEvents({ every, first, codes, readings: missing }: RampComb, count: number): LossEvent[] {
  const events: LossEvent[] = [];
  for (let at = first; at < count; at += every)
    events.push({
      at,
      within: 1,
      missing,
      alternatives: [],
      repeated: 0,
      evidence: `the ramp jumps ahead by ${say.lsb(codes)} every ${say.count(every)} readings, here before reading ${say.count(at)}`,
    });
  return events;
}

/** Codes gone back over from which equal readings are no chance. */
const TELLING = 8;

/** What a jump of a ramp or triangle means in readings. */
export function jumpEvent(codes: Int32Array, sweep: "ramp" | "triangle", found: SweepJump): LossEvent {
  const { at, within, readings } = found;
  if (readings > 0)
    return {
      at,
      within,
      missing: readings,
      alternatives: [],
      repeated: 0,
      evidence: `the ${sweep} jumps ahead by ${say.lsb(found.codes)} before reading ${say.count(at)}`,
    };
  for (let away = 0; away <= within; away++)
    for (const n of [-readings - away, -readings + away]) {
      const start = n < 1 || found.codes > -TELLING ? null : equalBlock(codes, at, n, within);
      if (start !== null)
        return {
          at: start,
          within: 0,
          missing: 0,
          alternatives: [],
          repeated: n,
          evidence: `the ${sweep} ${n === 1 ? "stands still" : `goes back by ${say.lsb(-found.codes)}`} at reading ${say.count(start)}, and the ${say.plural(n, "reading")} from there show${n === 1 ? "s that" : " those"} before again`,
        };
    }
  return {
    at,
    within,
    missing: 0,
    alternatives: [],
    repeated: -readings,
    evidence: `the ${sweep} goes back by ${say.lsb(-found.codes)} at reading ${say.count(at)}`,
  };
}
