import type { MetricName } from "../bench/metrics.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { burstOf, rampBreaks, SUSPECTED } from "../match/rampBreaks.ts";
import type { Estimates } from "./measurement.ts";

const SHAPE = ["inlMax", "inlMin", "totalUnadjustedError"] as const satisfies readonly MetricName[];

/** More steps than these are a pattern of a quiet quantiser or of the converter's own, and no accidents of a log. */
const MOST_SKIPS = 3;

/**
 * Steps ahead of a ramp that are too small to be called lost readings: narrow or missing codes make the same. A ramp alone cannot tell, so that the figures allow
 * for either. Readings lost where a share p of the ramp was done, worth s LSB, put every later voltage wrong: with the ends in place INL by up to s·max(p, 1 − p); and they
 * make codes look narrow or missing that are not.
 * @returns the estimates that change
 */
export function allowForSkips(record: MatchedRecord, estimates: Estimates): Estimates {
  const { codes, clean, scale } = record;
  const [first, last] = clean[0] ?? [0, codes.length - 1];
  const skips = rampBreaks(codes, first, last, scale.topCode, burstOf(record), SUSPECTED).filter((b) => b.codes > 0);
  if (skips.length === 0 || skips.length > MOST_SKIPS) return {};
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
