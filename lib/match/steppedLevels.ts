import type { Volts } from "../bench/units.ts";
import type { CaptureRecord } from "../capture/record.ts";

/** One stay at one level by the bench file's list: from the reading at which it was set to the last before the next change. */
export interface ListedLevel {
  /** At the pin. */
  readonly applied: Volts;
  readonly first: number;
  readonly last: number;
}

type Level = { readonly voltage: Volts; readonly readings: number };

/**
 * The levels of the bench file's list in the order in which they were visited.
 * A list with `direction: both` is walked up and then down; whether the turning level is visited once or twice is read off the record's length. A list whose voltages
 * already go the other way than `direction` says is walked backwards.
 * @param readings  of the record
 */
export function listedLevels(
  listed: readonly Level[],
  direction: "up" | "down" | "both",
  readings: number,
): readonly ListedLevel[] {
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
  const visits: ListedLevel[] = [];
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

/**
 * The voltage applied at each reading of a steps record: the log's column of it, else the bench file's list; NaN beyond the list's end.
 * @returns null when the bench names neither, or the stimulus is no steps
 */
export function steppedVolts(record: CaptureRecord): Float64Array | null {
  const { stimulus, appliedVolts, codes } = record;
  if (stimulus?.kind !== "steps") return null;
  if (appliedVolts !== null) return appliedVolts;
  if (stimulus.levels === null) return null;
  const volts = new Float64Array(codes.length).fill(Number.NaN);
  for (const { applied, first, last } of listedLevels(stimulus.levels, stimulus.direction, codes.length))
    volts.fill(applied, first, last + 1);
  return volts;
}
