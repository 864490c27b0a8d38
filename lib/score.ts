import type { Bench, CaptureSpec } from "./bench/bench.ts";
import type { Problem } from "./bench/problem.ts";
import { describeRecord } from "./capture/describeRecord.ts";
import { judge } from "./judge/decide.ts";
import { expandAll } from "./judge/expandAll.ts";
import { refineNoise } from "./judge/refineNoise.ts";
import { matchRecord } from "./match/matchRecord.ts";
import { measure } from "./measure/measure.ts";
import type { CaptureInput, CaptureScore, SessionScore } from "./session.ts";
import { seededRandom } from "./signal/random.ts";

/**
 * One capture, from readings to figures: describe → match → measure → expand.
 * @throws ProblemError  the log has no such channel, or its words cannot be codes of this converter
 */
export function scoreCapture({ spec, log, sha256 }: CaptureInput): CaptureScore {
  const record = matchRecord(describeRecord(spec, log));
  // One fixed seed: the same log gives the same figures, to the last digit, on every machine.
  const { estimates, curves, findings } = measure(record, seededRandom(1));
  const all = [...record.findings, ...findings.filter((f) => !record.findings.some((g) => g.id === f.id))];
  return { spec, sha256, record, figures: expandAll(estimates, all), findings: all, curves };
}

/** A session's captures judged together against the bench's limits. */
export function scoreSession(
  bench: Bench,
  captures: readonly CaptureScore[],
  unreadable: readonly { spec: CaptureSpec; problems: readonly Problem[] }[] = [],
): SessionScore {
  const refined = refineNoise(captures);
  const { verdict, findings } = judge(bench, refined);
  return {
    bench,
    captures: refined.map((c) => ({ ...c, findings: [...c.findings, ...(findings.get(c.spec.name) ?? [])] })),
    unreadable,
    verdict,
  };
}
