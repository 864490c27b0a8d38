import type { Result } from "../lib/result.ts";

/** Readings that no board made: the bench file says so in its title, its conditions or a capture's name. */
export function isSimulatedResult(result: Result): boolean {
  const says = (conditions: Readonly<Record<string, string>>): boolean =>
    Object.entries(conditions).some(([key, value]) =>
      /simulated/i.test(key) && !/^(false|no|0)$/i.test(value) ? true : /\bsimulated\b/i.test(value),
    );
  return (
    [result.bench.title, ...result.captures.map((c) => c.name)].some((text) => /\bsimulated\b/i.test(text)) ||
    says(result.bench.conditions) ||
    result.captures.some((c) => says(c.conditions))
  );
}

/** The sentence that stands wherever simulated data are shown on a terminal. */
export const SIMULATED = "Simulated data: these readings were computed, not measured on a board.";
