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
    if (firsts.length > NEIGHBOURS) break;
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
  if (neighbours.length < 8) return false;
  const digits = (text: string): number => text.replace(/[^0-9A-Fa-f]/g, "").length;
  // A few neighbours may be damaged themselves.
  const counts = neighbours.map(digits).sort((a, b) => a - b);
  const fewest = counts[Math.floor(0.05 * counts.length)]!;
  if (digits(field) >= fewest) return false;
  // Numbers padded to one width with zeros are cut wherever the width is missing.
  if (counts.at(-1) === fewest && neighbours.some((n) => /^[+-]?0\d/.test(n.trim()))) return true;
  const value = (text: string): number => (base === 10 ? Number(text.replace(",", ".")) : Number.parseInt(text, base));
  const values = neighbours.map(value);
  const steps = values
    .slice(1)
    .map((v, i) => Math.abs(v - values[i]!))
    .sort((a, b) => a - b);
  const largest = steps[Math.floor(0.9 * (steps.length - 1))]!;
  return Math.abs(value(field) - values[0]!) > 4 * largest;
}
