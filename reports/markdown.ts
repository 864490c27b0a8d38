import { METRIC_NAMES, METRICS, type MetricName } from "../lib/bench/metrics.ts";
import { renderProblem } from "../lib/bench/problem.ts";
import type { CaptureScore, SessionScore } from "../lib/session.ts";
import { DECISIONS } from "./decision.ts";
import { placeText } from "./findingList.ts";
import { visible } from "./html.ts";
import { metricLabel } from "./metricLabel.ts";
import { figureText } from "./metricTable.ts";
import { counted, plain, shownText } from "./number.ts";
import { markdownLine, markdownText } from "./tableText.ts";
import { headline, isSimulated, reason, rowPlace, whatWasTested } from "./verdictWords.ts";

/** The report as Markdown for a write-up: verdict with reasons, limits, figures, findings, files with their hashes. */
export function renderMarkdown(session: SessionScore, options: { version: string; written: string | null }): string {
  const { verdict, captures } = session;
  const decision = DECISIONS[verdict.decision].word;
  const blocks = [
    `# ${say(session.bench.title)}\n`,
    isSimulated(session) ? "**Simulated data.** These readings were computed, not measured on a board.\n" : "",
    `**${decision.charAt(0).toUpperCase()}${decision.slice(1)}.** ${say(headline(session))}\n`,
    `${say(whatWasTested(session))}\n`,
    list(verdict.limits.filter((l) => l.decision !== "pass").map((l) => reason(l, session))),
    limitsTable(session),
    ...captures.map((c) => captureBlock(c)),
    session.unreadable.length > 0
      ? `## Not readable\n\n${list(session.unreadable.flatMap((u) => u.problems.map((p) => `${u.spec.name}: ${renderProblem(p)}`)))}`
      : "",
    filesTable(captures),
    methodTable(captures),
    `Written by codestair ${options.version}${options.written === null ? "" : `, ${options.written.slice(0, 10)}`}. Intervals cover about 95 %.\n`,
  ];
  return blocks.filter((b) => b !== "").join("\n");
}

function say(text: string): string {
  return markdownText(visible(text));
}

function list(items: readonly string[]): string {
  return items.map((i) => `- ${say(i)}\n`).join("");
}

function table(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  numbers: readonly number[] = [],
): string {
  const rule = `|${heads.map((_, i) => (numbers.includes(i) ? " ---: |" : " --- |")).join("")}\n`;
  return markdownLine(heads.map(visible)) + rule + rows.map((r) => markdownLine(r.map(visible))).join("");
}

function limitsTable(session: SessionScore): string {
  const { limits } = session.verdict;
  if (limits.length === 0) return "";
  return table(
    ["metric", "value", "limit", "decision", "judged by"],
    limits.map((l) => [
      metricLabel(l.metric),
      shownText(l),
      `${l.bound === "min" ? "≥" : "≤"} ${plain(l.limit, 6)} ${l.unit}`,
      DECISIONS[l.decision].word,
      rowPlace(l, session),
    ]),
    [1, 2],
  );
}

function figuresOf(c: CaptureScore): [MetricName, string][] {
  return METRIC_NAMES.flatMap((m) => {
    const figure = c.figures[m];
    return figure === undefined ? [] : [[m, figureText(m, figure)] as [MetricName, string]];
  });
}

function captureBlock(c: CaptureScore): string {
  const rows = figuresOf(c).map(([m, text]) => [metricLabel(m), text]);
  const findings = c.findings.map((f) => {
    const where = placeText(f, c.record.codes.length);
    return `${f.severity}, ${f.id}${where === "" ? "" : ` (${where})`}: ${f.text} ${f.cause} ${f.advice}`.trim();
  });
  const harmonics = c.curves.spectrum?.harmonics ?? [];
  return [
    `## ${say(c.spec.name)}\n`,
    `${say(`${counted(c.record.codes.length, "reading")}. ${c.record.log.dialect.sentence}`)}\n`,
    rows.length > 0 ? table(["metric", "value"], rows, [1]) : "",
    findings.length > 0 ? list(findings) : "",
    harmonics.length > 0
      ? table(
          ["harmonic", c.curves.spectrum?.inHertz ? "frequency, Hz" : "cycles/reading", "level, dBc", "remark"],
          harmonics.map((h) => [
            String(h.order),
            plain(h.frequency, 6),
            h.level === null ? "–" : h.level.toFixed(1).replace("-", "−"),
            h.note,
          ]),
          [1, 2],
        )
      : "",
  ]
    .filter((b) => b !== "")
    .join("\n");
}

function filesTable(captures: readonly CaptureScore[]): string {
  if (captures.length === 0) return "";
  return `## Files\n\n${table(
    ["capture", "file", "readings", "SHA-256"],
    captures.map((c) => [c.spec.name, c.spec.file ?? "standard input", counted(c.record.codes.length), c.sha256]),
    [2],
  )}`;
}

function methodTable(captures: readonly CaptureScore[]): string {
  const used = METRIC_NAMES.filter((m) => captures.some((c) => c.figures[m] !== undefined));
  if (used.length === 0) return "";
  return `## Formulas\n\n${table(
    ["metric", "formula", "source"],
    used.map((m) => [metricLabel(m), METRICS[m].formula, METRICS[m].source]),
  )}`;
}
