import { ProblemError } from "../bench/problem.ts";

/** A line that goes on and on is no line of a log. */
export function endlessLine(bytes: number): ProblemError {
  return new ProblemError([
    {
      code: "unreadable-log",
      file: null,
      line: 1,
      key: null,
      found: `no line end in the first ${bytes} bytes`,
      expected: "lines of text with readings",
      next: "Check that this is a text log and that the firmware ends its lines; binary captures must be printed as numbers first",
    },
  ]);
}

/** Nothing in the log reads as readings: says how it begins. */
export function nothingFound(lines: readonly string[], bytes: number): ProblemError {
  const first = lines.find((l) => l !== "");
  const found =
    bytes === 0
      ? "the log is empty"
      : first === undefined
        ? "the log holds only blank lines"
        : `no readings in ${lines.length === 1 ? "the only line" : `${lines.length} lines`}, beginning with "${first.slice(0, 60)}"`;
  return new ProblemError([
    {
      code: "unreadable-log",
      file: null,
      line: null,
      key: null,
      found,
      expected: "numbers that come line by line",
      next: bytes === 0 ? "Check that the capture ran" : "State how it is written: --channel, --base, --delimiter",
    },
  ]);
}

/** A stream that does not end, or a log beyond what memory is meant for. */
export function tooManyReadings(most: number, line: number): ProblemError {
  return new ProblemError([
    {
      code: "log-too-long",
      file: null,
      line,
      key: null,
      found: `more than ${most} readings`,
      expected: "a log that ends",
      next: "Cut the log into pieces, or stop the stream",
    },
  ]);
}
