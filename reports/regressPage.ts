import type { RegressCase, Regression } from "../lib/regress/regression.ts";
import type { ResultPageOptions } from "./comparePage.ts";
import { decisionBadge } from "./decision.ts";
import { type Html, html } from "./html.ts";
import { metricLabel } from "./metricLabel.ts";
import { caseCells, orderedCases, regressHeadline, regressRule } from "./regressText.ts";
import { renderShell } from "./shell.ts";
import { renderTable } from "./table.ts";

/** What a regression was made of, for the page. */
export interface RegressSides {
  readonly baseline: RegressSide;
  readonly now: RegressSide;
}
export interface RegressSide {
  readonly name: string;
  readonly title: string;
  readonly conditions: Readonly<Record<string, string>>;
  readonly written: string | null;
  readonly hashes: readonly string[];
}

const BADGE = {
  worse: "fail",
  vanished: "fail",
  undecided: "undecided",
  "not worse": "pass",
  new: "none",
} as const;

/** The page of a regression: what got worse, every metric, how it was decided. */
export function renderRegressPage(regression: Regression, sides: RegressSides, options: ResultPageOptions): string {
  const { baseline, now } = sides;
  const cases = orderedCases(regression.cases);
  const wrong = cases.filter((c) => c.decision !== "not worse" && c.decision !== "new");
  const decision =
    regression.decision === "worse" ? "fail" : regression.decision === "undecided" ? "undecided" : "pass";
  return renderShell({
    kind: "Regression",
    title: `${now.title}: against its baseline`,
    subtitle: `baseline ${sideText(baseline)} · now ${sideText(now)}`,
    simulated: options.simulated,
    verdict: {
      decision,
      headline: regressHeadline(regression),
      body: html`${
        wrong.length > 0 &&
        html`<ul>${wrong.map((c) => html`<li>${decisionBadge(BADGE[c.decision])} <strong>${metricLabel(c.metric)}</strong> (${c.capture}): ${c.reason}</li>`)}</ul>`
      }`,
    },
    sections: [
      { id: "metrics", heading: "What changed?", body: caseTable(cases) },
      {
        id: "method",
        heading: "How was it decided?",
        body: html`${regressRule(regression).map((r) => html`<p>${r}</p>`)}
${regression.remarks.length > 0 && html`<ul>${regression.remarks.map((r) => html`<li>${r}</li>`)}</ul>`}`,
      },
    ],
    data: [{ id: "codestair-regression", json: options.json }],
    version: options.version,
    written: options.written,
    foot: [...baseline.hashes.map((h) => `baseline ${h}`), ...now.hashes.map((h) => `now ${h}`)].join(" · "),
  });
}

function sideText({ name, conditions, written }: RegressSide): string {
  const said = Object.entries(conditions)
    .filter(([key]) => !/simulated/i.test(key))
    .map(([key, value]) => `${key} ${value}`);
  // The folder is of one machine; the page travels.
  return [name.replace(/^.*[\\/]/, ""), ...said, ...(written === null ? [] : [written.slice(0, 10)])].join(", ");
}

function caseTable(cases: readonly RegressCase[]): Html {
  if (cases.length === 0) return html`<p>The baseline has no metric that can get worse.</p>`;
  const anyAllowed = cases.some((c) => caseCells(c)[4] !== "");
  return renderTable({
    caption: `Every metric that can get worse, what is wrong first; ± about 95 %${anyAllowed ? "" : "; no worsening was allowed for"}`,
    columns: [
      { head: "metric" },
      { head: "capture" },
      { head: "baseline", align: "number" },
      { head: "now", align: "number" },
      { head: "worse by", align: "number" },
      ...(anyAllowed ? [{ head: "allowed", align: "number" as const }] : []),
      { head: "decision" },
      { head: "why" },
    ],
    rows: cases.map((c) => {
      const [baseline = "", now = "", by = "", spread = "", allowed = "", unit = ""] = caseCells(c);
      const suffix = unit === "" ? "" : `\u00a0${unit}`;
      const told = c.worsening !== null;
      return [
        metricLabel(c.metric),
        c.capture,
        baseline === "–" ? "–" : `${baseline}${suffix}`,
        now === "–" ? "–" : `${now}${suffix}`,
        told ? `${by}${spread === "" ? "" : /[+−]/.test(spread) ? ` (${spread})` : ` ±\u00a0${spread}`}${suffix}` : "–",
        ...(anyAllowed ? [allowed === "" ? "not set" : `${allowed}${suffix}`] : []),
        c.decision === "new"
          ? "new"
          : html`${decisionBadge(BADGE[c.decision])} ${c.decision === "vanished" && "vanished"}`,
        html`<small class="says">${c.reason}</small>`,
      ];
    }),
  });
}
