import { METRIC_NAMES } from "../lib/bench/metrics.ts";
import { renderProblem } from "../lib/bench/problem.ts";
import type { LimitRow } from "../lib/judge/figure.ts";
import type { CaptureSummary, SessionSummary } from "../lib/session.ts";
import { DECISIONS, type DecisionWord } from "./decision.ts";
import { placeText } from "./findingList.ts";
import { visible } from "./html.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { counted, plain, type Shown, shown, unbroken } from "./number.ts";
import { spreadText, terminalTable, width, wrapLines } from "./terminalTable.ts";
import { headline, isSimulated, rowPlace } from "./verdictWords.ts";

export interface TerminalOptions {
  /** Colour marks pass, fail and undecided, each of which is also a word. */
  readonly colour: boolean;
  readonly columns: number;
  /** Where the page was written; null where none was asked for. */
  readonly reportPath: string | null;
}

const INK: Readonly<Record<DecisionWord, string>> = {
  pass: "\u001b[32m",
  fail: "\u001b[31m",
  undecided: "\u001b[33m",
  "not measured": "\u001b[33m",
  none: "",
};

/** The summary on the terminal: verdict, one table of figures and limits, findings with what to do, where the report is. */
export function renderTerminal(session: SessionSummary, options: TerminalOptions): string {
  const columns = Math.max(60, options.columns);
  const ink = (text: string, decision: DecisionWord): string =>
    options.colour && INK[decision] !== "" ? `${INK[decision]}${text}\u001b[0m` : text;
  const { decision } = session.verdict;
  const word = DECISIONS[decision].word.toUpperCase();
  const [first = "", ...rest] = wrapLines(
    `${clean(session.bench.title)}: ${headline(session)}`,
    columns - word.length - 2,
  );
  const out = [
    `${ink(word, decision)}  ${first}`,
    ...rest.map((l) => `${" ".repeat(word.length + 2)}${l}`),
    ...(isSimulated(session) ? ["Simulated data: these readings were computed, not measured on a board."] : []),
    "",
    ...figureLines(session, columns, ink),
    ...notReported(session, columns),
    ...findingLines(session, columns),
    ...unreadableLines(session, columns),
  ];
  if (options.reportPath !== null) out.push(`Report: ${options.reportPath}`);
  while (out.at(-1) === "") out.pop();
  return `${out.join("\n")}\n`;
}

/** Text of a log or bench file on a terminal: no control codes, no second line. */
function clean(text: string): string {
  return visible(unbroken(text.replace(/[\t\r\n]+/g, " ")));
}

type Ink = (text: string, decision: DecisionWord) => string;

interface Row {
  readonly name: string;
  readonly shown: Shown;
  readonly limit: string;
  readonly decision: LimitRow["decision"] | null;
}

/** One table: the limits with their decisions first, then each capture's other figures below its name. */
function figureLines(session: SessionSummary, columns: number, ink: Ink): string[] {
  const { limits } = session.verdict;
  const several = session.captures.length > 1;
  const judged: Row[] = limits.map((l) => {
    const place = clean(rowPlace(l, session));
    return {
      name: `${metricLabel(l.metric)}${several && place !== "" ? ` (${place})` : ""}`,
      shown: shown(l),
      limit: `${l.bound === "min" ? "≥" : "≤"} ${plain(l.limit, 6)}`,
      decision: l.decision,
    };
  });
  const groups = session.captures.map((c) => ({ head: clean(c.spec.name), rows: otherRows(c, session) }));
  const rows = [...judged, ...groups.flatMap((g) => g.rows)];
  if (rows.length === 0) return [];
  const numbers = terminalTable(
    [
      { head: "value", align: "point" },
      { head: "±", align: "point" },
      { head: "unit", align: "left" },
      ...(judged.length > 0
        ? ([
            { head: "limit", align: "left" },
            { head: "decision", align: "left" },
          ] as const)
        : []),
    ],
    rows.map((r) => [
      r.shown.value,
      spreadText(r.shown),
      r.shown.unit,
      r.limit,
      r.decision === null ? "" : DECISIONS[r.decision].word,
    ]),
  );
  // Names give way before numbers do: what does not fit goes on below.
  const room = Math.max(12, columns - 2 - Math.max(...numbers.map(width)));
  const nameLines = rows.map((r) => wrapLines(r.name, room));
  const wide = Math.max(6, ...nameLines.flat().map(width));
  const pad = (t: string): string => t + " ".repeat(Math.max(0, wide - width(t)));
  const out = [`${pad("metric")}  ${numbers[0]}`];
  const add = (i: number): void => {
    const [first = "", ...rest] = nameLines[i] as string[];
    out.push(
      `${pad(first)}  ${coloured(numbers[i + 1] as string, rows[i]!.decision, ink)}`.trimEnd(),
      ...rest.map((l) => `  ${l}`),
    );
  };
  let at = 0;
  for (; at < judged.length; at++) add(at);
  // What would decide stands with the limits, above the figures that decide nothing.
  const remedies = remedyLines(limits, columns);
  if (remedies.length > 0) out.push("", ...remedies);
  for (const g of groups) {
    if (g.rows.length === 0) continue;
    out.push("", ...(several ? wrapIndented(`${g.head}:`, columns) : []));
    for (const end = at + g.rows.length; at < end; at++) add(at);
  }
  return [...out, ""];
}

function remedyLines(limits: readonly LimitRow[], columns: number): string[] {
  return limits.flatMap((l) =>
    l.remedy === null || l.decision === "pass"
      ? []
      : wrapIndented(`${metricLabel(l.metric)}: ${clean(l.remedy)}`, columns),
  );
}

/** A capture's figures that no limit of it covers already, leaving out what has neither value nor bound. */
function otherRows(c: CaptureSummary, session: SessionSummary): Row[] {
  return METRIC_NAMES.flatMap((m): Row[] => {
    const figure = c.figures[m];
    if (figure === undefined || (figure.value === null && figure.low === null && figure.high === null)) return [];
    if (session.verdict.limits.some((l) => l.metric === m && l.capture === c.spec.name)) return [];
    return [{ name: metricLabel(m), shown: shown(figure, { signed: isSigned(m) }), limit: "", decision: null }];
  });
}

function coloured(line: string, decision: DecisionWord | null, ink: Ink): string {
  if (decision === null) return line;
  const { word } = DECISIONS[decision];
  const at = line.lastIndexOf(word);
  return at < 0 ? line : line.slice(0, at) + ink(word, decision) + line.slice(at + word.length);
}

function wrapIndented(text: string, columns: number, indent = "  "): string[] {
  return wrapLines(text, columns - indent.length).map((l, i) => (i === 0 ? l : indent + l));
}

/** Metrics that a capture could not support, gathered by their reason. */
function notReported(session: SessionSummary, columns: number): string[] {
  const lines: string[] = [];
  for (const c of session.captures) {
    const reasons = new Map<string, string[]>();
    for (const m of METRIC_NAMES) {
      const f = c.figures[m];
      if (f === undefined || f.value !== null || f.low !== null || f.high !== null) continue;
      const why = f.reason ?? "this capture cannot show it";
      reasons.set(why, [...(reasons.get(why) ?? []), metricLabel(m)]);
    }
    for (const [why, metrics] of reasons)
      lines.push(
        ...wrapIndented(
          `Not measured in ${clean(c.spec.name)}: ${metrics.join("; ")}. ${capital(clean(why))}.`,
          columns,
        ),
      );
  }
  return lines.length > 0 ? [...lines, ""] : [];
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1).replace(/\.$/, "");
}

const ORDER = { error: 0, warning: 1, note: 2 } as const;

function findingLines(session: SessionSummary, columns: number): string[] {
  const all = session.captures
    .flatMap((c) => c.findings.map((finding) => ({ finding, c })))
    .sort((a, b) => ORDER[a.finding.severity] - ORDER[b.finding.severity]);
  const lines = all.flatMap(({ finding, c }) => {
    const where = placeText(finding, c.record.codes.length);
    const head = `${finding.severity}: ${finding.id} in ${clean(c.spec.name)}${where === "" ? "" : ` (${where})`}`;
    return [
      ...wrapIndented(head, columns),
      ...wrapLines(clean(`${finding.text} ${finding.cause}`.trim()), columns - 2).map((l) => `  ${l}`),
      ...(finding.advice === ""
        ? []
        : wrapLines(clean(`→ ${finding.advice}`), columns - 4).map((l, i) => (i === 0 ? `  ${l}` : `    ${l}`))),
    ];
  });
  return lines.length > 0 ? [...lines, ""] : [];
}

function unreadableLines(session: SessionSummary, columns: number): string[] {
  const lines = session.unreadable.flatMap(({ spec, problems }) => [
    ...wrapIndented(`Not readable: ${clean(spec.name)}, ${counted(problems.length, "problem")}`, columns),
    ...problems.flatMap((p) => wrapLines(clean(renderProblem(p)), columns - 2).map((l) => `  ${l}`)),
  ]);
  return lines.length > 0 ? [...lines, ""] : [];
}
