import type { MetricName } from "../bench/metrics.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { burstOf, rampBreaks, SUSPECTED } from "../match/rampBreaks.ts";
import { type JumpCertainty, leastJump, sweepJumps } from "../match/sweepJumps.ts";
import type { Estimates } from "./measurement.ts";

const SHAPE = ["inlMax", "inlMin", "totalUnadjustedError"] as const satisfies readonly MetricName[];

/** A step between neighbouring means that noise does not explain: one clean ramp in fifty shows one. */
const SUSPECTED_JUMP: JumpCertainty = { ahead: 0.15, back: Number.POSITIVE_INFINITY, chance: 0.02 };

/** More steps than these are a pattern of a quiet quantiser or of the converter's own, and no accidents of a log. */
const MOST_SKIPS = 3;

/**
 * Steps ahead of a ramp that are too small to be called lost readings: narrow or missing codes make the same. A ramp alone cannot tell, so that the figures allow
 * for either. Readings lost where a share p of the ramp was done, worth s LSB, put every later voltage wrong: with the ends in place INL by up to s·max(p, 1 − p); and they
 * make codes look narrow or missing that are not.
 * @returns the estimates that change
 */
export function allowForSkips(record: MatchedRecord, estimates: Estimates): Estimates {
  const { codes, clean } = record;
  const [first, last] = clean[0] ?? [0, codes.length - 1];
  const skips = suspectedSkips(record, first, last);
  if (skips.length === 0 || skips.length > MOST_SKIPS) return withLeast(record, estimates);
  const shift = skips.reduce((sum, { at, codes: s }) => {
    const p = (at - first) / (last - first);
    return sum + s * Math.max(p, 1 - p);
  }, 0);
  const codesSkipped = skips.reduce((sum, s) => sum + s.codes, 0);
  const largest = skips.reduce((a, b) => (b.codes > a.codes ? b : a));
  const told = `; allows for ${codesSkipped.toFixed(1)} LSB of steps ahead (the largest near reading ${largest.at}), which are narrow codes or lost readings`;
  const changed: Estimates = {};
  for (const name of SHAPE) {
    const had = estimates[name];
    if (had === undefined) continue;
    changed[name] = {
      ...had,
      method: had.method + told,
      low: had.low === null ? null : had.low - shift,
      high: had.high === null ? null : had.high + shift,
      shares: [...(had.shares ?? []), { from: "narrow codes or lost readings", standard: shift / 1.96 }],
    };
  }
  const { dnlMin, missingCodes } = estimates;
  if (dnlMin?.value != null && dnlMin.high !== null)
    changed.dnlMin = {
      ...dnlMin,
      method: dnlMin.method + told,
      high: Math.min(0, dnlMin.high + Math.min(1, largest.codes)),
    };
  if (missingCodes?.low != null)
    changed.missingCodes = {
      ...missingCodes,
      method: missingCodes.method + told,
      low: Math.max(0, missingCodes.low - Math.ceil(codesSkipped)),
    };
  return changed;
}

/** Steps ahead, by blocks and between neighbouring readings, each place once. */
function suspectedSkips(record: MatchedRecord, first: number, last: number): { at: number; codes: number }[] {
  const { codes, scale } = record;
  const byBlocks = rampBreaks(codes, first, last, scale.topCode, burstOf(record), SUSPECTED).filter((b) => b.codes > 0);
  const jumps = sweepJumps(
    codes.subarray(first, last + 1),
    { floor: 0, ceiling: scale.topCode },
    true,
    Math.max(1, burstOf(record).stretch),
    SUSPECTED_JUMP,
  );
  const near = (last - first) / 64;
  return [
    ...byBlocks,
    ...jumps
      .map((jump) => ({ at: first + jump.at, codes: jump.codes }))
      .filter(({ at }) => !byBlocks.some((b) => Math.abs(b.at - at) < near)),
  ];
}

/** Says how large a loss would have to be to show. */
function withLeast(record: MatchedRecord, estimates: Estimates): Estimates {
  const { codes, scale } = record;
  const least = leastJump(codes, { floor: 0, ceiling: scale.topCode }, Math.max(1, burstOf(record).stretch));
  if (!Number.isFinite(least)) return {};
  const told = `; no steps ahead were seen, but readings lost that are worth less than ${least.toFixed(1)} LSB of the ramp would not show, and would move it by as much`;
  const changed: Estimates = {};
  for (const name of SHAPE) {
    const had = estimates[name];
    if (had !== undefined) changed[name] = { ...had, method: had.method + told };
  }
  return changed;
}
