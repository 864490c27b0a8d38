import type { RegressCase, RegressDecision, Regression } from "../lib/regress/regression.ts";
import { inOneUnit } from "./inUnit.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { metricListed } from "./metricListed.ts";
import { plain, shown } from "./number.ts";
import { SIMULATED } from "./simulatedResult.ts";
import { spreadText, terminalTable, width } from "./terminalTable.ts";
import { cleanText, inked, inkLast, paragraph, type TextOptions, type Tone } from "./terminalText.ts";

const REGRESS_WORDS: Readonly<Record<RegressDecision, { word: string; tone: Tone }>> = {
  worse: { word: "worse", tone: "bad" },
  vanished: { word: "vanished", tone: "bad" },
  undecided: { word: "undecided", tone: "open" },
  "not worse": { word: "not worse", tone: "good" },
  new: { word: "new", tone: "plain" },
};

const ORDER: readonly RegressDecision[] = ["worse", "vanished", "undecided", "not worse", "new"];

/** The outcome in one sentence. */
export function regressHeadline({ cases, decision, judged }: Regression): string {
  const of = (d: RegressDecision): string[] => [
    ...new Set(cases.filter((c) => c.decision === d).map((c) => metricListed(c.metric))),
  ];
  const listed = (names: readonly string[]): string =>
    names.length > 4 ? `${names.slice(0, 4).join(", ")} and ${names.length - 4} more` : names.join(", ");
  const [worse, vanished, undecided] = [of("worse"), of("vanished"), of("undecided")];
  const parts = [
    ...(worse.length > 0 ? [`got worse: ${listed(worse)}`] : []),
    ...(vanished.length > 0 ? [`not measured any more: ${listed(vanished)}`] : []),
    ...(undecided.length > 0 ? [`undecided: ${listed(undecided)}`] : []),
  ];
  if (parts.length > 0) return `${parts.join("; ").replace(/^./, (c) => c.toUpperCase())}.`;
  if (judged === 0) return "Nothing was judged: the baseline has no metric that can get worse.";
  return decision === "not worse"
    ? `None of ${judged} metrics got worse by more than the uncertainty and what is allowed.`
    : "Undecided.";
}

/** How the decisions were taken, for the foot of text and page. */
export function regressRule(regression: Regression): string[] {
  const { judged, chanceAlone, cases } = regression;
  const blind = cases.filter((c) => c.blind && c.allowed !== null);
  return [
    "Worse: beyond the joint 95 % uncertainty and the allowed change (allow: in the bench file, or --allow). Unchanged within the uncertainty counts as not worse. A metric that is not measured any more is a failure.",
    ...(judged > 1
      ? [
          `The ${judged} metrics are judged together, so that all of them pass in at least 97.5 of 100 repeats when nothing has changed. Each by itself, ${plain(100 * chanceAlone, 2)} of 100 such repeats would show one as worse; what is worse only by itself is undecided.`,
        ]
      : []),
    ...(blind.length > 0
      ? [
          `Known less well than the change they are allowed: ${[...new Set(blind.map((c) => metricLabel(c.metric)))].join(", ")}. A worsening that matters could pass here; capture longer, or with a better source.`,
        ]
      : []),
    ...(regression.correlation === null ? [] : [regression.correlation]),
  ];
}

/** The cases in the order a person wants them: what is wrong first. */
export function orderedCases(cases: readonly RegressCase[]): RegressCase[] {
  return [...cases].sort((a, b) => ORDER.indexOf(a.decision) - ORDER.indexOf(b.decision));
}

/** One case's cells, all in one unit: baseline, now, worse by, ±, allowed, unit. */
export function caseCells(c: RegressCase): string[] {
  const signed = isSigned(c.metric);
  const allowed =
    c.allowed === null ? null : { value: c.allowed, low: null, high: null, uncertainty: null, unit: c.unit };
  const worsening = c.worsening === null ? null : { ...c.worsening, unit: c.unit };
  const { row, unit } = inOneUnit([c.baseline, c.now, worsening, allowed], c.unit);
  const [baseline, now, by, most] = row;
  const shownBy = by ? shown(by, { signed: true }) : null;
  return [
    baseline ? shown(baseline, { signed }).value : "–",
    now ? shown(now, { signed }).value : "–",
    shownBy?.value ?? "–",
    shownBy === null ? "" : spreadText(shownBy),
    most?.value == null ? "" : plain(most.value),
    unit,
  ];
}

/** A regression on the terminal: the verdict first, then what is wrong, then the rest. */
export function regressText(
  regression: Regression,
  names: readonly [baseline: string, now: string],
  simulated: boolean,
  options: TextOptions,
): string {
  const columns = Math.max(60, options.columns);
  const { word, tone } = verdictWord(regression.decision);
  const [first = "", ...rest] = paragraph(regressHeadline(regression), columns - word.length - 2);
  const cases = orderedCases(regression.cases);
  const out = [
    `${inked(word, tone, options.colour)}  ${first}`,
    ...rest.map((l) => " ".repeat(word.length + 2) + l),
    ...paragraph(`${names[1]} against the baseline ${names[0]}.`, columns),
    ...(simulated ? [SIMULATED] : []),
    "",
    ...caseTables(cases, columns, options.colour),
    ...cases
      // What got worse stands in the table with its figures; here is what the table cannot say.
      .filter((c) => c.decision === "vanished" || c.decision === "undecided")
      .flatMap((c) => paragraph(`${metricLabel(c.metric)} (${c.capture}): ${c.reason}`, columns, "  ")),
    ...regression.remarks.flatMap((r) => paragraph(r, columns, "  ")),
    ...regressRule(regression).flatMap((r) => paragraph(r, columns, "  ")),
  ];
  if (options.pagePath !== null) out.push(`Page: ${options.pagePath}`);
  return `${out.join("\n")}\n`;
}

function verdictWord(decision: Regression["decision"]): { word: string; tone: Tone } {
  if (decision === "worse") return { word: "FAIL", tone: "bad" };
  return decision === "undecided" ? { word: "UNDECIDED", tone: "open" } : { word: "PASS", tone: "good" };
}

/** One table for each capture, those with something wrong first. Names give way before numbers do, and what is allowed before either. */
function caseTables(cases: readonly RegressCase[], columns: number, colour: boolean): string[] {
  const captures = [...new Set(cases.map((c) => c.capture))];
  return captures.flatMap((capture) => {
    const own = cases.filter((c) => c.capture === capture);
    const lines =
      [caseTable(own, false, true), caseTable(own, true, true)].find((t) => t.every((l) => width(l) <= columns)) ??
      caseTable(own, true, false);
    const coloured = lines.map((line, i) => {
      if (i === 0) return line;
      const { word, tone } = REGRESS_WORDS[own[i - 1]!.decision];
      return inkLast(line, word, tone, colour);
    });
    return captures.length > 1 ? [cleanText(capture), ...coloured, ""] : [...coloured, ""];
  });
}

function caseTable(cases: readonly RegressCase[], short: boolean, withAllowed: boolean): string[] {
  const shownAllowed = withAllowed && cases.some((c) => c.allowed !== null);
  return terminalTable(
    [
      { head: "metric", align: "left" },
      { head: "baseline", align: "point" },
      { head: "now", align: "point" },
      { head: "worse by", align: "point" },
      { head: "±", align: "point" },
      ...(shownAllowed ? [{ head: "allowed", align: "point" as const }] : []),
      { head: "unit", align: "left" },
      { head: "decision", align: "left" },
    ],
    cases.map((c) => [
      short ? c.metric : metricLabel(c.metric),
      ...caseCells(c).filter((_, i) => i !== 4 || shownAllowed),
      REGRESS_WORDS[c.decision].word,
    ]),
  );
}

/** One case in lines, for the body of a JUnit case. */
export function caseDetails(c: RegressCase): string {
  const [baseline, now, by, spread, allowed, unit] = caseCells(c);
  return [
    `baseline ${baseline} ${unit}`,
    `now ${now} ${unit}`,
    `worse by ${by}${spread ? ` ± ${spread}` : ""} ${unit}`,
    allowed === "" ? "no change allowed beyond the uncertainty" : `allowed ${allowed} ${unit}`,
    c.reason,
  ].join("\n");
}
