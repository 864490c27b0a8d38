import type { ReadingHints } from "../bench/bench.ts";
import { readName } from "./columnName.ts";
import type { RoledColumn } from "./columnRoles.ts";

/** A column that is found by its key, and how often it came in the sample. */
export type KeyedColumn = RoledColumn & {
  readonly key: string;
  readonly count: number;
  /** The unit that stands behind every number of the column, to be left out. */
  readonly suffix: string | null;
};

/**
 * Which of the keyed numbers are channels: those named as codes; others only when they come as often.
 * @param besideCodes  does the key come in lines that hold one of these keys?
 * @returns keys
 */
export function channelColumns(
  columns: readonly KeyedColumn[],
  hints: ReadingHints,
  besideCodes: (key: string, codes: readonly string[]) => boolean = () => true,
): Set<string> {
  const codes = columns.filter((c) => c.role === "code");
  const stated = codes.filter((c) => c.name.toLowerCase() === String(hints.channel).trim().toLowerCase());
  if (stated.length > 0) return new Set(stated.map((c) => c.key));
  const all = codes.length > 0 ? codes : columns.filter((c) => c.role === "volts");
  const namedAsCode = all.filter((c) => c.named && readName(c.name).role === "code");

  // What stands still while others vary is a setting (`read 0`), unless it is named as a code; numbers before the first named one are a prefix.
  const moves = (c: KeyedColumn): boolean => new Set(c.facts.numbers.filter((v) => !Number.isNaN(v))).size > 1;
  const start = Math.min(...namedAsCode.map((c) => c.index));
  const pool = all.filter(
    (c) =>
      namedAsCode.includes(c) ||
      ((moves(c) || !all.some(moves)) &&
        (namedAsCode.length === 0 ||
          besideCodes(
            c.key,
            namedAsCode.map((n) => n.key),
          )) &&
        (c.named || namedAsCode.length === 0 || c.index > start)),
  );
  const leaders = namedAsCode.length > 0 ? namedAsCode : pool;
  const top = Math.max(0, ...leaders.map((c) => c.count));
  return new Set(pool.filter((c) => c.count >= (leaders.includes(c) ? 0.05 : 0.5) * top).map((c) => c.key));
}
