import type { MetricName } from "../../lib/bench/metrics.ts";
import type { SessionScore } from "../../lib/session.ts";
import { decisionBadge } from "../decision.ts";
import { type Html, html } from "../html.ts";
import { isSigned, metricLabel, metricSentence } from "../metricLabel.ts";
import { plain, shown, unbroken } from "../number.ts";
import { renderTable } from "../table.ts";
import { reason, rowPlace, whatWasTested } from "../verdictWords.ts";

/** What stands below the verdict on the first screen: what was tested, what decides and why, the limits, and what a reader must know before trusting them. */
export function verdictBody(session: SessionScore): Html {
  const { limits } = session.verdict;
  const deciding = limits.filter((l) => l.decision === "fail");
  const open = limits.filter((l) => l.decision === "undecided" || l.decision === "not measured");
  const errors = session.captures.flatMap((c) =>
    c.findings.filter((f) => f.severity === "error").map((f) => ({ f, c })),
  );
  return html`<p>${whatWasTested(session)}</p>
${deciding.length > 0 && html`<h3>What decides</h3><ul class="reasons">${deciding.map((l) => html`<li>${reason(l, session)}</li>`)}</ul>`}
${open.length > 0 && html`<h3>What is open, and what would decide it</h3><ul class="reasons">${open.map((l) => html`<li>${reason(l, session)}</li>`)}</ul>`}
${limits.length > 0 ? limitTable(session) : keyFigures(session)}
${
  errors.length > 0 &&
  html`<h3>Before you trust the figures</h3><ul class="reasons">${errors.map(
    ({ f, c }) =>
      html`<li><strong>${c.spec.name}:</strong> ${unbroken(f.text)}${f.advice !== "" && ` ${unbroken(f.advice)}`}</li>`,
  )}</ul>`
}
${
  session.unreadable.length > 0 &&
  html`<h3>Not readable</h3><ul class="reasons">${session.unreadable.map(
    ({ spec, problems }) =>
      html`<li><strong>${spec.name}</strong>${spec.file !== null && html` (<span class="code">${spec.file}</span>)`}: ${problems.map(
        (p) =>
          html`${p.key !== null && `${p.key}: `}${p.found}${p.expected !== "" && `; expected ${p.expected}`}. ${p.next}`,
      )}</li>`,
  )}</ul>`
}`;
}

/** With no limits to judge, the first screen shows what a reader asks for first. */
const KEY_METRICS = [
  "enob",
  "sinad",
  "thd",
  "offsetError",
  "gainError",
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "noiseRms",
  "meanCode",
] as const satisfies readonly MetricName[];

function keyFigures(session: SessionScore): Html | null {
  const rows = KEY_METRICS.flatMap((m) =>
    session.captures.flatMap((c) => {
      const figure = c.figures[m];
      if (figure === undefined || (figure.value === null && figure.low === null && figure.high === null)) return [];
      const s = shown(figure, { signed: isSigned(m) });
      return [
        [
          metricLabel(m),
          s.value,
          s.spread,
          s.unit,
          c.spec.name,
          html`<small class="says">${metricSentence(m)}</small>`,
        ],
      ];
    }),
  );
  if (rows.length === 0) return null;
  return renderTable({
    caption: "The main figures; ± covers about 95 %",
    columns: [
      { head: "metric" },
      { head: "value", align: "number" },
      { head: "±", align: "number" },
      { head: "unit" },
      { head: "capture" },
      { head: "what it says" },
    ],
    rows,
  });
}

function limitTable(session: SessionScore): Html {
  return renderTable({
    caption: "Limits of the bench file; ± covers about 95 %",
    columns: [
      // On a phone the right-hand columns have to be scrolled to: decision, value and limit are not among them.
      { head: "metric" },
      { head: "decision" },
      { head: "value", align: "number" },
      { head: "±", align: "number" },
      { head: "limit", align: "number" },
      { head: "unit" },
      { head: "judged by" },
      { head: "what it says" },
    ],
    rows: session.verdict.limits.map((l) => {
      const s = shown(l);
      return [
        metricLabel(l.metric),
        decisionBadge(l.decision),
        s.value,
        s.spread,
        `${l.bound === "min" ? "≥" : "≤"} ${plain(l.limit, 6)}`,
        s.unit,
        rowPlace(l, session),
        html`<small class="says">${metricSentence(l.metric)}</small>`,
      ];
    }),
  });
}
