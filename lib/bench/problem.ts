/**
 * A user's mistake (command, bench file, log) as data. All of them are gathered, then rendered together without a stack; exit status 2.
 */
export interface Problem {
  /** Machine-readable kind, e.g. "unknown-key", "wrong-unit", "unreadable-log". */
  readonly code: string;
  readonly file: string | null;
  /** 1-based line in that file, where one is known. */
  readonly line: number | null;
  /** Dotted path of the key, e.g. "captures[0].stimulus.frequency". */
  readonly key: string | null;
  readonly found: string;
  readonly expected: string;
  /** What to do next, where that is not plain from `expected`. */
  readonly next?: string;
}

/** One line for a person: `bench.yaml:14  captures[0].stimulus.frequency: "997 V" is a voltage; expected a frequency such as 997 Hz`. */
export function renderProblem(p: Problem): string {
  const where = p.file === null ? "" : `${p.file}${p.line === null ? "" : `:${p.line}`}  `;
  const key = p.key === null ? "" : `${p.key}: `;
  const expected = p.expected === "" ? "" : `; expected ${p.expected}`;
  return `${where}${key}${p.found}${expected}${p.next ? `. ${p.next}` : ""}`;
}

/** Carries problems up to the command, where they are printed together. */
export class ProblemError extends Error {
  readonly problems: readonly Problem[];
  constructor(problems: readonly Problem[]) {
    super(problems.map(renderProblem).join("\n"));
    this.name = "ProblemError";
    this.problems = problems;
  }
}
