import type { Finding, FindingId } from "../lib/match/finding.ts";
import type { CaptureScore } from "../lib/session.ts";
import { type Html, html } from "./html.ts";
import { metricInSentence } from "./metricLabel.ts";
import { counted, unbroken } from "./number.ts";

export type Question = "log" | "stimulus" | "straight" | "clean" | "quiet";

/** The question each finding belongs to. */
const QUESTION_OF: Readonly<Record<FindingId, Question>> = {
  "lines-skipped": "log",
  "readings-lost": "log",
  "readings-repeated": "log",
  outliers: "log",
  "stuck-bit": "log",
  "left-aligned": "log",
  "byte-swapped": "log",
  "sign-mismatch": "log",
  "uneven-sampling": "log",
  "rate-mismatch": "log",
  "wider-than-declared": "log",
  "narrower-than-declared": "log",
  clipped: "stimulus",
  "range-not-exercised": "stimulus",
  "frequency-mismatch": "stimulus",
  "amplitude-mismatch": "stimulus",
  "offset-mismatch": "stimulus",
  aliased: "stimulus",
  "pin-overdriven": "stimulus",
  "not-coherent": "stimulus",
  "few-phases": "stimulus",
  "slow-settling": "stimulus",
  "too-few-readings": "straight",
  "captures-disagree": "straight",
  "source-limited": "clean",
  "routes-disagree": "clean",
  "crosstalk-present": "clean",
  "mains-hum": "clean",
  drifting: "quiet",
  "telegraph-noise": "quiet",
};

/** Hum on a steady input is a question of quiet, on a tone one of clean. */
function questionOf(finding: Finding, capture: CaptureScore): Question {
  if (finding.id === "mains-hum" && capture.record.stimulus?.kind !== "sine") return "quiet";
  return QUESTION_OF[finding.id];
}

const ORDER = { error: 0, warning: 1, note: 2 } as const;
const SIGN = { error: "■", warning: "▲", note: "○" } as const;

/** A finding's place in its record, in words. */
export function placeText(finding: Finding, readings: number): string {
  const { readings: where } = finding;
  if (where.length === 0) return "";
  const [first] = where;
  if (where.length === 1 && first![0] === 0 && first![1] >= readings - 1) return "the whole record";
  const parts = where
    .slice(0, 4)
    .map(([a, b]) => (a === b ? `reading ${counted(a)}` : `readings ${counted(a)} to ${counted(b)}`));
  return where.length > 4 ? `${parts.join(", ")} and ${counted(where.length - 4)} more places` : parts.join(", ");
}

/** Whether something stands against a capture in this question. */
export function isQuestioned(capture: CaptureScore, question: Question): boolean {
  return capture.findings.some((f) => f.severity !== "note" && questionOf(f, capture) === question);
}

/** The findings of a session that belong to one question, worst first. */
export function findingList(captures: readonly CaptureScore[], question: Question): Html | null {
  const entries = captures
    .flatMap((c) => c.findings.map((finding) => ({ finding, capture: c })))
    .filter(({ finding, capture }) => questionOf(finding, capture) === question)
    .sort((a, b) => ORDER[a.finding.severity] - ORDER[b.finding.severity]);
  if (entries.length === 0) return null;
  return html`<ul class="findings">${entries.map(({ finding, capture }) => {
    const where = placeText(finding, capture.record.codes.length);
    return html`<li class="${finding.severity}"><p><span class="severity"><span aria-hidden="true">${SIGN[finding.severity]}</span> ${finding.severity}: ${finding.id}</span> <small>in ${capture.spec.name}${where !== "" && `, ${where}`}</small></p>
<p>${unbroken(finding.text)}${finding.cause !== "" && ` ${unbroken(finding.cause)}`}</p>
${finding.advice !== "" && html`<p><strong>What to do:</strong> ${unbroken(finding.advice)}</p>`}
${finding.nulls.length > 0 && html`<p><small>Not reported because of this: ${finding.nulls.map(metricInSentence).join(", ")}.</small></p>`}</li>`;
  })}</ul>`;
}
