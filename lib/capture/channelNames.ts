import type { ColumnFacts } from "./columnFormat.ts";

/**
 * A0, A1, … in one column and plain numbers in another: the first are names of channels, though they would pass for hexadecimal. Changes the facts.
 * @param texts  the fields of each column
 */
export function markChannelNames(facts: ColumnFacts[], texts: (column: number) => readonly string[]): void {
  facts.forEach((f, i) => {
    if (f.format.base !== 16 || f.mostDigits > 3) return;
    const letters = new Set(texts(i).map((t) => /^([A-Fa-f])\d{1,2}$/.exec(t)?.[1]));
    if (letters.size !== 1 || letters.has(undefined)) return;
    const isRival = (g: ColumnFacts, k: number): boolean =>
      k !== i && g.format.kind === "whole" && (g.mostDigits !== f.mostDigits || g.format.base === 10);
    if (facts.some(isRival))
      facts[i] = { ...f, format: { ...f.format, kind: "text", base: 10 }, readable: 1, ambiguous: false };
  });
}
