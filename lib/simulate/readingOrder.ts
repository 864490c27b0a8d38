import type { Stretch } from "../capture/record.ts";
import type { Random } from "../signal/random.ts";
import type { PlantedFault } from "./faults.ts";

/** Which of the converter's true readings each logged one shows, and where the log departs from one after another. */
export interface ReadingOrder {
  /** Element i: the true reading that logged reading i shows. */
  readonly shown: Int32Array;
  /** Element i: the true reading at whose instant it was logged; differs from `shown` only for stale readings. */
  readonly instant: Int32Array;
  /** True readings needed. */
  readonly needed: number;
  readonly where: ReadonlyMap<PlantedFault, readonly Stretch[]>;
}

/**
 * Lays out a record with its lost and repeated readings.
 * @param readings  logged readings wanted
 */
export function readingOrder(readings: number, faults: readonly PlantedFault[], random: Random): ReadingOrder {
  const shown = new Int32Array(readings);
  const instant = new Int32Array(readings);
  const where = new Map<PlantedFault, Stretch[]>();
  // In the middle three fifths, where a fault can be told from the record's own ends.
  const place = (at: number | null): number => at ?? Math.floor(readings * (0.2 + 0.6 * random.uniform()));
  const jumps = new Map<number, number>();
  const jump = (fault: PlantedFault, at: number, by: number, last = at): void => {
    jumps.set(at, (jumps.get(at) ?? 0) + by);
    where.set(fault, [...(where.get(fault) ?? []), [at, last]]);
  };
  const stale = new Set<number>();
  for (const fault of faults) {
    const { name, size, at } = fault;
    if (name === "lost") jump(fault, place(at), Math.round(size));
    else if (name === "losses")
      for (let i = 0; i < size; i++) jump(fault, place(null), 1 + Math.floor(5 * random.uniform()));
    else if (name === "repeated-block") {
      const length = Math.max(1, Math.round(size));
      const start = place(at);
      jump(fault, start, -length, Math.min(readings, start + length) - 1);
    } else if (name === "repeated") {
      const chosen: number[] = [];
      for (let i = 0; i < size; i++)
        chosen.push(i === 0 && at !== null ? at : 1 + Math.floor((readings - 1) * random.uniform()));
      for (const n of chosen) stale.add(n);
      where.set(
        fault,
        [...new Set(chosen)].sort((a, b) => a - b).map((n) => [n, n] as const),
      );
    }
  }
  let next = 0;
  let needed = 0;
  for (let i = 0; i < readings; i++) {
    next = Math.max(0, next + (jumps.get(i) ?? 0));
    instant[i] = next;
    shown[i] = stale.has(i) && i > 0 ? shown[i - 1]! : next;
    next++;
    if (next > needed) needed = next;
  }
  return { shown, instant, needed, where };
}
