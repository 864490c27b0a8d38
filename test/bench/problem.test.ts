import { describe, expect, it } from "vitest";
import { ProblemError, renderProblem } from "../../lib/bench/problem.ts";

const problem = {
  code: "wrong-unit",
  file: "bench.yaml",
  line: 14,
  key: "captures[0].stimulus.frequency",
  found: '"997 V" is a voltage',
  expected: "a frequency such as 997 Hz",
};

describe("renderProblem", () => {
  it("says where, what was found and what is expected, in one line", () => {
    // The line that STYLE gives as the example.
    expect(renderProblem(problem)).toBe(
      'bench.yaml:14  captures[0].stimulus.frequency: "997 V" is a voltage; expected a frequency such as 997 Hz',
    );
  });

  it("leaves out what is not known, and ends with what to do", () => {
    expect(renderProblem({ ...problem, line: null, key: null, expected: "", next: "Look again" })).toBe(
      'bench.yaml  "997 V" is a voltage. Look again',
    );
  });
});

it("ProblemError carries all problems, a line each", () => {
  expect(new ProblemError([problem, problem]).message.split("\n")).toHaveLength(2);
});
