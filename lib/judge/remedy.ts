import type { LimitMetric } from "../bench/bench.ts";
import { halfWidth, Z95 } from "../signal/coverage.ts";
import type { LimitInterval } from "./limitInterval.ts";
import { shrinksWithReadings } from "./shrinks.ts";
import { significant } from "./significant.ts";

/** Beyond this a longer record is no practical advice. */
const MOST_READINGS = 1e10;

/** The x at which the rising function f reaches target, 0…high. */
function solve(f: (x: number) => number, target: number, high: number): number {
  let a = 0;
  let b = high;
  for (let i = 0; i < 60; i++) {
    const middle = (a + b) / 2;
    if (f(middle) < target) a = middle;
    else b = middle;
  }
  return a;
}

/**
 * What would decide an undecided limit, in one sentence: how many readings, which better source, or both; or that nothing practical would.
 * The value is taken to stay where it is, which the next capture need not honour: "about".
 * @param readings  of the capture that judged
 */
export function remedyFor(interval: LimitInterval, limit: number, readings: number): string {
  const { value, low, high, unit, figure } = interval;
  if (value === null || figure.value === null) {
    const bound =
      high !== null && low !== null
        ? `only that it lies in ${significant(Math.abs(low) < 1e-3 * (high - low) ? 0 : low)} to ${significant(high)} ${unit}`
        : high !== null
          ? `only an upper bound of ${significant(high)} ${unit}`
          : `only a lower bound of ${significant(low ?? 0)} ${unit}`;
    return `This capture gives ${bound}${figure.reason === undefined ? "" : ` (${figure.reason})`}.`;
  }
  if (low === null || high === null)
    return "This capture bounds it on one side only; more readings, or more noise at the input, would bound the other.";
  const room = Math.abs(value - limit);
  const needed = `±${significant(room)} ${unit} is needed`;
  const limits = figure.budget.parts.filter((p) => p.kind === "limit");
  const widths = limits.map((l) => l.halfWidth);
  // The side that faces the limit; a magnitude may be that of a negative figure.
  const target = figure.value < 0 && value > 0 ? -limit : limit;
  const facing = target > figure.value ? figure.high : figure.low;
  const now = Math.abs((facing ?? figure.value) - figure.value) || (high - low) / 2;
  const own = solve((x) => halfWidth(x / Z95, widths), now, now);
  const byLimits = halfWidth(0, widths);
  // A count of codes touches its limit exactly; what is open is whether narrow codes are missing ones, and a longer record tells.
  if (room === 0 && unit === "codes")
    return `This record (${significant(readings, String(readings).length)} readings) cannot tell every narrow code from a missing one; a longer one would.`;
  if (room < 1e-3 * now || room === 0)
    return `The value lies on the limit to within a thousandth of its uncertainty; no practical capture would decide.`;

  const readingsFor = (wanted: number): number => {
    if (wanted >= own) return readings;
    if (figure.readingsNeeded) return figure.readingsNeeded(wanted);
    const shares = figure.budget.parts.filter((p) => p.kind === "record");
    const square = shares.reduce((sum, s) => sum + s.halfWidth ** 2, 0);
    const fixed = shares.filter((s) => !shrinksWithReadings(s.from)).reduce((sum, s) => sum + s.halfWidth ** 2, 0);
    const stays = square > 0 ? own * Math.sqrt(fixed / square) : 0;
    return wanted <= stays
      ? Number.POSITIVE_INFINITY
      : (readings * (own ** 2 - stays ** 2)) / (wanted ** 2 - stays ** 2);
  };
  const wording = (count: number): string =>
    `about ${significant(count)} readings (this capture has ${significant(readings, String(readings).length)})`;

  if (byLimits < room) {
    const count = readingsFor(solve((x) => halfWidth(x / Z95, widths), room, now));
    if (count <= MOST_READINGS) return `${capital(wording(count))} would decide: ${needed}.`;
    const stays = figure.budget.parts.filter((p) => p.kind === "record" && !shrinksWithReadings(p.from))[0];
    return `${capital(needed)}, and a longer record of this kind would not reach it${stays ? `: ${stays.from} (±${significant(stays.halfWidth)} ${unit}) stays` : ""}.`;
  }
  const largest = [...limits].sort((a, b) => b.halfWidth - a.halfWidth)[0]!;
  const others = limits.filter((l) => l !== largest).map((l) => l.halfWidth);
  const better = (share: number): string =>
    share <= 0 || share < 0.01 * largest.halfWidth
      ? `a far better source (${largest.from} now acts as ±${significant(largest.halfWidth)} ${unit})`
      : `a source whose ${largest.from.replace(/^source /, "")} is known ${significant(largest.halfWidth / share)} times better`;
  if (halfWidth(own / Z95, others) < room) {
    const share = solve((a) => halfWidth(own / Z95, [...others, a]), room, largest.halfWidth);
    return `More readings would not decide; ${better(share)} would: ${needed}.`;
  }
  const share = solve((a) => halfWidth(0, [...others, a]), room / Math.SQRT2, largest.halfWidth);
  const count = readingsFor(room / Math.SQRT2);
  if (count > MOST_READINGS || share < 0.01 * largest.halfWidth)
    return `${capital(needed)}, which neither a longer record nor a better source of this kind would reach.`;
  return `Both ${better(share)} and ${wording(count)} would be needed: ${needed}.`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Which capture would measure a metric that no capture of the session determines. */
export function captureFor(metric: LimitMetric): string {
  switch (metric) {
    case "inl":
    case "inlMax":
    case "inlMin":
    case "offsetError":
    case "gainError":
    case "totalUnadjustedError":
      return "a ramp, a triangle, a sine over the whole range, or steps of known voltage";
    case "dnl":
    case "dnlMax":
    case "dnlMin":
    case "missingCodes":
    case "offsetAtLow":
      return "a ramp, a triangle or a sine over the whole range";
    case "hysteresis":
      return "a triangle, a sine, or steps walked in both directions";
    case "meanCode":
    case "noiseRms":
    case "codeRms":
    case "noisePeakToPeak":
    case "effectiveResolution":
    case "noiseFreeBits":
      return "a steady input";
    case "drift":
      return "a steady input with a known sample rate or time stamps";
    case "crosstalk":
      return "a log of two channels with a tone on one of them";
    case "noiseFloor":
      return "a sine with a known sample rate";
    default:
      return "a sine that does not clip";
  }
}
