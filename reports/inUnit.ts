import { type Interval, prefixFor } from "./number.ts";

/** Intervals that stand in one row, all with the SI prefix that suits the largest of them, so that one unit column serves them all. */
export function inOneUnit<T extends Interval | null>(row: readonly T[], unit: string): { row: T[]; unit: string } {
  const sizes = row.flatMap((i) => (i === null ? [] : [i.value, i.low, i.high].map((x) => Math.abs(x ?? 0))));
  const { factor, unit: prefixed } = prefixFor(Math.max(0, ...sizes), unit);
  if (factor === 1) return { row: [...row], unit };
  const over = (x: number | null): number | null => (x === null ? null : x / factor);
  return {
    unit: prefixed,
    row: row.map((i) =>
      i === null
        ? i
        : {
            ...i,
            value: over(i.value),
            low: over(i.low),
            high: over(i.high),
            uncertainty: over(i.uncertainty),
            unit: prefixed,
          },
    ),
  };
}
