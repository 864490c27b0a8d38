import type * as z from "zod";
import type { Bench } from "./bench.ts";
import { splitMessage } from "./field.ts";
import { nearest } from "./nearest.ts";
import { type PlainYaml, pathText, readPlainYaml } from "./plainYaml.ts";
import type { Problem } from "./problem.ts";
import { quote } from "./quantity.ts";
import { resolveBench } from "./resolveBench.ts";
import { salvageBench } from "./salvage.ts";
import { benchFile } from "./schema.ts";

/**
 * Reads a bench file: YAML, or JSON with the same keys.
 * @param text  the file's text
 * @param file  its name, for messages and for a title where it states none
 * @returns the bench with every quantity in SI and every default filled in, or null and all problems at once, by line; never throws
 */
export function readBench(text: string, file: string): { bench: Bench | null; problems: Problem[] } {
  const plain = readPlainYaml(text, file);
  const problems = [...plain.problems];
  if (plain.value === undefined && problems.length > 0) return { bench: null, problems: inOrder(problems) };
  if (typeof plain.value !== "object" || plain.value === null || Array.isArray(plain.value)) {
    const found = plain.value === undefined || plain.value === null ? "the file is empty" : "the file holds no keys";
    problems.push({
      code: "not-a-bench",
      file,
      line: 1,
      key: null,
      found,
      expected: "a bench file with at least converter: { bits: …, range: … }",
      next: "A log is read with `codestair inspect`",
    });
    return { bench: null, problems: inOrder(problems) };
  }
  // A bench file is checked once: compiling code for it takes longer than the checks.
  const parsed = benchFile.safeParse(plain.value, { jitless: true });
  if (!parsed.success) for (const issue of parsed.error.issues) problems.push(...problemsOf(issue, plain, file));
  const root = plain.value as Record<string, unknown>;
  const resolved = resolveBench(
    parsed.success ? parsed.data : salvageBench(root),
    file,
    Object.keys(Object(root.limits)),
  );
  for (const { path, found, expected, code } of resolved.problems)
    problems.push({ code, file, line: plain.line(path) ?? 1, key: pathText(path), found, expected });
  return { bench: problems.length > 0 ? null : resolved.bench, problems: inOrder(problems) };
}

type Issue = z.core.$ZodIssue;

function problemsOf(issue: Issue, plain: PlainYaml, file: string, base: readonly PropertyKey[] = []): Problem[] {
  const path = [...base, ...issue.path];
  if (issue.code === "unrecognized_keys") {
    const known = issue.message.split("\n");
    return issue.keys.map((key) => {
      const near = nearest(key, known);
      const problem = {
        code: "unknown-key",
        file,
        line: plain.line([...path, key]) ?? 1,
        key: pathText([...path, key]),
        found: "unknown key",
        expected: near === null ? `one of ${known.join(", ")}` : near,
      };
      return near === null ? problem : { ...problem, next: `Known here: ${known.join(", ")}` };
    });
  }
  if (issue.code === "invalid_union" && issue.errors.length > 0) {
    // A union of forms (a map or a list): report the branch whose form the value has.
    const branches = issue.errors.filter(
      (branch) => !branch.some((i) => i.path.length === 0 && i.code === "invalid_type"),
    );
    const branch = branches.length === 1 ? branches[0] : undefined;
    if (branch) return branch.flatMap((inner) => problemsOf(inner, plain, file, path));
  }
  const value = valueAt(plain.value, path);
  const { found, expected } = splitMessage(issue.message);
  const words = expected.startsWith("one of ") ? expected.slice("one of ".length).split(", ") : [];
  const near = typeof value === "string" ? nearest(value, words) : null;
  const code = value === undefined && found === null ? "missing-key" : found === null ? "wrong-type" : "wrong-value";
  return [
    {
      code,
      file,
      line: plain.line(path) ?? 1,
      key: path.length === 0 ? null : pathText(path),
      found: found ?? describeValue(value),
      expected,
      ...(near === null ? {} : { next: `Perhaps ${near} is meant` }),
    },
  ];
}

function valueAt(root: unknown, path: readonly PropertyKey[]): unknown {
  let value = root;
  for (const step of path) {
    if (typeof value !== "object" || value === null || !Object.hasOwn(value, step)) return undefined;
    value = (value as Record<PropertyKey, unknown>)[step];
  }
  return value;
}

function describeValue(value: unknown): string {
  if (value === undefined) return "missing";
  if (value === null) return "is empty";
  if (typeof value === "string") return quote(value);
  if (Array.isArray(value)) return "is a list";
  if (typeof value === "object") return "is a map";
  return String(value);
}

/** More than a person would read: most likely the file is no bench file. */
const MOST_PROBLEMS = 60;

function inOrder(problems: readonly Problem[]): Problem[] {
  const seen = new Set<string>();
  const distinct = problems
    .filter((p) => {
      const same = `${p.line} ${p.key} ${p.found} ${p.expected}`;
      return !seen.has(same) && seen.add(same);
    })
    .sort((a, b) => (a.line ?? 0) - (b.line ?? 0));
  const rest = distinct.length - MOST_PROBLEMS;
  if (rest <= 0) return distinct;
  const last = distinct[MOST_PROBLEMS]!;
  return [
    ...distinct.slice(0, MOST_PROBLEMS),
    {
      ...last,
      code: "more-problems",
      key: null,
      found: `${rest} more problems from here on`,
      expected: "a bench file",
    },
  ];
}
