import type { ReadingPlan } from "./readingPlan.ts";

const NEIGHBOURS = 256;

/**
 * Is the log's first line the rear part of one that the terminal had begun before the capture? Its first number then has fewer digits than any after it,
 * and stands further from the next than those do from each other.
 * @param lines  cleaned lines of the sample
 */
export function firstLineCut(plan: ReadingPlan, lines: readonly string[]): boolean {
  if (plan.kind !== "columns" || plan.headerLine > 0) return false;
  if (lines.slice(0, plan.dataLine - 1).some((l) => l !== "")) return false;
  const firsts: string[] = [];
  for (const line of lines.slice(plan.dataLine - 1)) {
    if (firsts.length >= NEIGHBOURS) break;
    const rows = plan.form.rows(line);
    if (typeof rows !== "string") firsts.push(rows[0]![0] ?? "");
  }
  const base = plan.columns[0]?.facts.format.base ?? 10;
  return standsApart(firsts[0] ?? "", firsts.slice(1), base);
}

/**
 * Does a number look like a piece of one: fewer digits than all its neighbours, and far from them?
 * @param field       as written
 * @param neighbours  the nearest one first
 */
export function standsApart(field: string, neighbours: readonly string[], base: number): boolean {
  if (neighbours.length < 4) return false;
  const digits = (text: string): number => text.replace(/[^0-9A-Fa-f]/g, "").length;
  const fewest = Math.min(...neighbours.map(digits));
  if (digits(field) >= fewest) return false;
  // Numbers padded to one width with zeros are cut wherever the width is missing.
  if (neighbours.every((n) => digits(n) === fewest) && neighbours.some((n) => /^[+-]?0\d/.test(n.trim()))) return true;
  const value = (text: string): number => (base === 10 ? Number(text.replace(",", ".")) : Number.parseInt(text, base));
  const values = neighbours.map(value);
  let largest = 0;
  for (let i = 1; i < values.length; i++) largest = Math.max(largest, Math.abs(values[i]! - values[i - 1]!));
  return Math.abs(value(field) - values[0]!) > 4 * largest;
}
