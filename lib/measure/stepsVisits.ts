import type { Volts } from "../bench/units.ts";
import type { Stretch } from "../capture/record.ts";
import type { MatchedRecord } from "../match/matched.ts";

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
        ? withinClean(fromList(stimulus.levels, stimulus.direction, codes.length), clean)
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

type Level = { readonly voltage: Volts; readonly readings: number };

function fromList(listed: readonly Level[], direction: "up" | "down" | "both", readings: number): RawVisit[] {
  const start = listed[0]!.voltage;
  const end = listed[listed.length - 1]!.voltage;
  const isAgainst = direction === "down" ? end > start : direction === "up" && end < start;
  let order: readonly Level[] = isAgainst ? [...listed].reverse() : listed;
  if (direction === "both") {
    const back = [...listed].reverse();
    const total = (levels: readonly Level[]): number => levels.reduce((sum, l) => sum + l.readings, 0);
    const walks = [listed, [...listed, ...back.slice(1)], [...listed, ...back]];
    // The walk whose length is nearest to the record's; a list that already names both ways fits as it stands.
    order = walks.reduce((best, walk) =>
      Math.abs(total(walk) - readings) < Math.abs(total(best) - readings) ? walk : best,
    );
  }
  const visits: RawVisit[] = [];
  let first = 0;
  for (const { voltage, readings: count } of order) {
    if (first >= readings) break;
    const last = Math.min(readings, first + count) - 1;
    const previous = visits[visits.length - 1];
    // A turning level visited twice in a row is set once.
    if (previous !== undefined && previous.applied === voltage) visits[visits.length - 1] = { ...previous, last };
    else visits.push({ applied: voltage, first, last });
    first = last + 1;
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
