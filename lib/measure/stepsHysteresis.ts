import { largestOf } from "./largestOf.ts";
import type { Estimate } from "./measurement.ts";
import { type StepsContext, shares, untested } from "./stepsContext.ts";
import type { LevelMean } from "./stepsLevels.ts";
import { type CombinedWidth, combinedHalfWidth } from "./stepsLine.ts";

/** Largest difference between a level's mean codes reached from below and from above. */
export function hysteresis(context: StepsContext): Estimate {
  const { points, limits, coverage, described } = context;
  const differences: number[] = [];
  const parts: CombinedWidth[] = [];
  for (const point of points) {
    const up = point.visits.filter((v) => v.direction === "up");
    const down = point.visits.filter((v) => v.direction === "down");
    if (up.length === 0 || down.length === 0) continue;
    const mean = (visits: readonly LevelMean[]): number => visits.reduce((s, v) => s + v.meanCode, 0) / visits.length;
    const sides = [up, down].map((visits) => ({
      applied: point.applied,
      meanCode: 0,
      standard: Math.sqrt(visits.reduce((s, v) => s + v.standard ** 2, 0)) / visits.length,
      visits,
    }));
    differences.push(Math.abs(mean(up) - mean(down)));
    // The source's line is the same both ways; that it is set anew, and the quantiser's steps, are not.
    parts.push(combinedHalfWidth([1, -1], sides, { ...limits, linearity: 0, displacement: [] }, coverage));
  }
  if (differences.length === 0)
    return untested("no level was reached both from below and from above; `direction: both` would show hysteresis")
      .hysteresis!;
  const largest = largestOf(
    differences,
    parts.map((u) => u.halfWidth),
  );
  return {
    value: largest.value,
    unit: "LSB",
    method: `${described}; largest |mean code going up − going down| of ${differences.length} levels`,
    low: Math.max(0, largest.low),
    high: largest.high,
    limits: [],
    shares: shares(parts[largest.index]!),
  };
}
