import { equalBlock } from "./equalBlock.ts";
import type { LossEvent } from "./lossEvent.ts";
import type { RampBreak } from "./rampBreaks.ts";
import { say } from "./say.ts";
import type { TriangleJump } from "./triangleJumps.ts";
import type { TrianglePhaseJump } from "./trianglePhases.ts";
import type { TriangleStep } from "./triangleSteps.ts";

export function jumpEvent(found: TriangleJump): LossEvent {
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

export function breakEvent(codes: Int32Array, found: RampBreak): LossEvent {
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
