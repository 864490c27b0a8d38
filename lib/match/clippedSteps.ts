import type { MatchContext } from "./context.ts";
import type { Finding } from "./finding.ts";
import { levelsOffLine } from "./levelsOffLine.ts";
import { LINE_METRICS, SHAPE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";

/** A staircase whose last levels at one end fall short of the line of the others. */
export function clippedSteps({ record, clean }: MatchContext): Finding[] {
  // With readings missing the list does not line up any more.
  if (record.appliedVolts === null && clean.length !== 1) return [];
  const found = levelsOffLine(record);
  if (found === null || !found.isEnd) return [];
  const { off, allowed } = found;
  const furthest = Math.max(...off.map((o) => Math.abs(o.by)));
  return [
    {
      id: "clipped",
      severity: "error",
      text: `The staircase is flattened inside the range: ${say.plural(off.length, "level")} at its ${off[0]!.by < 0 ? "upper" : "lower"} end (${off.map((o) => say.volts(o.level.volts)).join(", ")}) ${off.length === 1 ? "falls" : "fall"} short of the line of the others by up to ${say.lsb(furthest)}, where converter and source account for ${say.lsb(allowed)}.`,
      cause: "Something before the converter saturates, or the source does not reach these levels.",
      advice: "Measure these levels at the pin; give the buffer more headroom.",
      readings: off.map((o) => [o.level.first, o.level.last] as const).sort((a, b) => a[0] - b[0]),
      nulls: [...LINE_METRICS, ...SHAPE_METRICS],
    },
  ];
}
