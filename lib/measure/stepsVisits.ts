import type { Volts } from "../bench/units.ts";
import type { Stretch } from "../capture/record.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { listedLevels } from "../match/steppedLevels.ts";

/** One stay at one level, from the reading at which it was set to the last before the next change. */
export interface Visit {
  /** At the pin. */
  readonly applied: Volts;
  readonly first: number;
  readonly last: number;
  /** From which side the level was reached. */
  readonly direction: "up" | "down";
}

/** Applied voltages that differ by less than this are one level: a voltmeter's column flickers. */
const SAME_LEVEL = 0.1;

/**
 * The levels of a steps record in the order in which they were visited: from the column of applied voltages where there is one, else from the bench file's list.
 * A list with `direction: both` is walked up and then down; whether the turning level is visited once or twice is read off the record's length. A list whose voltages
 * already go the other way than `direction` says is walked backwards.
 * @returns no visits when the bench says neither
 */
export function stepsVisits(record: MatchedRecord): readonly Visit[] {
  const { stimulus, appliedVolts, scale, clean, codes } = record;
  if (stimulus === null || stimulus.kind !== "steps") return [];
  const raw =
    appliedVolts !== null
      ? fromColumn(appliedVolts, clean, SAME_LEVEL * scale.lsb)
      : stimulus.levels !== null
        ? withinClean(listedLevels(stimulus.levels, stimulus.direction, codes.length), clean)
        : [];
  return raw.map((visit, i) => {
    const before = raw[i - 1]?.applied;
    const after = raw[i + 1]?.applied;
    // The first level was reached from nowhere; it belongs to the run it starts.
    const isUp =
      before !== undefined && before !== visit.applied
        ? visit.applied > before
        : after === undefined || after >= visit.applied;
    return { ...visit, direction: isUp ? "up" : "down" };
  });
}

type RawVisit = Omit<Visit, "direction">;

function fromColumn(applied: Float64Array, clean: readonly Stretch[], same: Volts): RawVisit[] {
  const visits: RawVisit[] = [];
  for (const [start, end] of clean) {
    let first = start;
    while (first <= end) {
      const level = applied[first]!;
      if (!Number.isFinite(level)) {
        first++;
        continue;
      }
      let last = first;
      let sum = level;
      while (last < end && Math.abs(applied[last + 1]! - level) <= same) {
        last++;
        sum += applied[last]!;
      }
      visits.push({ applied: sum / (last - first + 1), first, last });
      first = last + 1;
    }
  }
  return visits;
}

/** Each visit cut down to its longest part without lost or damaged readings. */
function withinClean(visits: readonly RawVisit[], clean: readonly Stretch[]): RawVisit[] {
  return visits.flatMap((visit) => {
    let best: RawVisit | null = null;
    for (const [a, b] of clean) {
      const first = Math.max(a, visit.first);
      const last = Math.min(b, visit.last);
      if (last >= first && (best === null || last - first > best.last - best.first)) best = { ...visit, first, last };
    }
    return best === null ? [] : [best];
  });
}
