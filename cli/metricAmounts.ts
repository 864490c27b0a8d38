import { METRIC_NAMES } from "../lib/bench/metrics.ts";
import { type Problem, ProblemError } from "../lib/bench/problem.ts";

const KNOWN = new Set<string>([...METRIC_NAMES, "inl", "dnl"]);

/**
 * Reads `--allow enob=0.1` options: a metric and a number in its own unit.
 * @throws ProblemError  naming every option that is wrong
 */
export function metricAmounts(texts: readonly string[]): Record<string, number> {
  const amounts: Record<string, number> = {};
  const problems: Problem[] = [];
  const wrong = (found: string, expected: string): void => {
    problems.push({ code: "wrong-option", file: null, line: null, key: "--allow", found, expected });
  };
  for (const text of texts) {
    const [, name = "", amount = ""] = /^([^=]*)=?(.*)$/s.exec(text) ?? [];
    const value = amount.trim() === "" ? Number.NaN : Number(amount);
    if (!KNOWN.has(name)) wrong(JSON.stringify(text), `METRIC=NUMBER with one of: ${[...KNOWN].join(", ")}`);
    else if (!(value >= 0 && value < Number.POSITIVE_INFINITY))
      wrong(JSON.stringify(text), `a number in ${name}'s own unit, 0 or more, such as ${name}=0.1`);
    else amounts[name] = value;
  }
  if (problems.length > 0) throw new ProblemError(problems);
  return amounts;
}
