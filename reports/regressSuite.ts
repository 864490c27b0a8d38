import type { RegressDecision, Regression } from "../lib/regress/regression.ts";
import type { JunitCase, JunitSuite } from "./junit.ts";
import { caseDetails, orderedCases, regressHeadline } from "./regressText.ts";

const DECISIONS: Readonly<Record<RegressDecision, JunitCase["decision"]>> = {
  worse: "fail",
  vanished: "fail",
  undecided: "undecided",
  "not worse": "pass",
  new: "pass",
};

/** A regression as a suite of test cases, one a metric of a capture; a metric that vanished is a failure. */
export function regressSuite(
  regression: Regression,
  title: string,
  [baseline, now]: readonly [baseline: string, now: string],
): JunitSuite {
  return {
    suite: `codestair regress: ${title}`,
    properties: { baseline, new: now, outcome: regressHeadline(regression) },
    cases: orderedCases(regression.cases).map((c) => ({
      name: `${c.capture}: ${c.metric}`,
      decision: DECISIONS[c.decision],
      message: c.reason,
      details: caseDetails(c),
    })),
  };
}
