import type { CaptureRecord } from "../capture/record.ts";
import type { Finding } from "./finding.ts";
import type { LevelsOffLine, OffLine } from "./levelsOffLine.ts";
import { LINE_METRICS, SHAPE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";

/** Levels named one by one. */
const TOLD = 4;

/** Levels of a staircase that are not those stated: all the other way round, or some that changed places. */
export function levelOrder(record: CaptureRecord, { off, allowed, slope, levels }: LevelsOffLine): Finding[] {
  const base = { id: "amplitude-mismatch", severity: "error", nulls: [...LINE_METRICS, ...SHAPE_METRICS] } as const;
  if (slope < 0)
    return [
      {
        ...base,
        text: `The codes fall where the stated levels rise, by ${say.number(-slope * record.scale.lsb)} codes an LSB: the levels come the other way round.`,
        cause: "The levels were applied in the opposite order, or the input is inverted.",
        advice: "Turn the list of levels or `direction:` round, or state the front end's gain with its sign.",
        readings: [[0, record.codes.length - 1]],
      },
    ];
  if (off.length === 0) return [];
  const furthest = Math.max(...off.map((o) => Math.abs(o.by)));
  const more = off.length > TOLD ? ` and ${say.count(off.length - TOLD)} more` : "";
  return [
    {
      ...base,
      text: `${say.plural(off.length, "level")} of ${say.count(levels)} ${off.length === 1 ? "stands" : "stand"} away from the line of the others (${off.slice(0, TOLD).map(told).join(", ")}${more}), the furthest by ${say.lsb(furthest)}, where converter and source account for ${say.lsb(allowed)}.`,
      cause: "These levels were applied in another order than stated, or not at all.",
      advice: "Compare the list of levels with what the source was set to, or log the applied voltage in a column.",
      readings: off.map((o) => [o.level.first, o.level.last] as const).sort((a, b) => a[0] - b[0]),
    },
  ];
}

const told = ({ level, by }: OffLine): string => `${say.volts(level.volts)}: ${by > 0 ? "+" : ""}${say.lsb(by)}`;
