import type { Bench, CaptureSpec, Converter, Limit } from "./bench/bench.ts";
import type { PinStimulus } from "./bench/pinStimulus.ts";
import { judge } from "./judge/decide.ts";
import type { Figures, LimitRow } from "./judge/figure.ts";
import type { Result, ResultCapture } from "./result.ts";
import type { CaptureSummary, SessionSummary } from "./session.ts";

/**
 * Judges a result again without its logs: against the limits it carries, or against those of a bench file. The figures stay as they were measured.
 * @param bench  whose limits and decision rule to use; null keeps the result's own
 * @returns the session as a summary shows it, and the result with its new verdict
 */
export function rejudge(
  result: Result,
  bench: Pick<Bench, "limits" | "decision"> | null,
): { session: SessionSummary; result: Result } {
  const rule = { limits: bench?.limits ?? limitsOf(result), decision: bench?.decision ?? result.bench.decision };
  const captures = result.captures.map(summaryOf);
  // captures-disagree is said of the first judging; another one must not say it twice.
  const { verdict, findings } = judge(rule, captures);
  const withFindings = captures.map((c) => ({
    ...c,
    findings: [
      ...c.findings,
      ...(findings.get(c.spec.name) ?? []).filter((f) => !c.findings.some((g) => g.text === f.text)),
    ],
  }));
  return {
    session: {
      bench: { title: result.bench.title, conditions: result.bench.conditions, ...rule },
      captures: withFindings,
      unreadable: result.unreadable.map(({ name, problems }) => ({
        spec: { name },
        problems: problems.map((found) => ({
          code: "unreadable-log",
          file: null,
          line: null,
          key: null,
          found,
          expected: "",
        })),
      })),
      verdict,
    },
    result: {
      ...result,
      bench: { ...result.bench, decision: rule.decision },
      captures: result.captures.map((c, i) => ({ ...c, findings: withFindings[i]!.findings })),
      verdict,
    },
  };
}

/** The limits behind a verdict's rows; each keeps the capture that judged it. */
function limitsOf(result: Result): Limit[] {
  return result.verdict.limits.map((row: LimitRow) => ({
    metric: row.metric,
    min: row.bound === "min" ? row.limit : null,
    max: row.bound === "max" ? row.limit : null,
    capture: row.capture,
    channel: row.channel,
  }));
}

function summaryOf(capture: ResultCapture): CaptureSummary {
  // What tells settings apart: the converter as it was used, and the conditions. The rest of a spec is not in a result, and judging does not ask for it.
  const spec = {
    name: capture.name,
    file: capture.file,
    converter: capture.converter as unknown as Converter,
    frontEnd: null,
    conditions: capture.conditions,
    reading: { channel: capture.channel },
    sampleRate: capture.sampleRate?.value ?? null,
    stimulus: null,
    use: null,
    scan: null,
  } satisfies CaptureSpec;
  return {
    spec,
    record: {
      channel: capture.channel,
      codes: { length: capture.readings },
      stimulus: capture.stimulus as PinStimulus | null,
    },
    figures: capture.metrics as Figures,
    findings: capture.findings,
  };
}
