import { createHash } from "node:crypto";
import { type DecisionWord, decisionBadge } from "./decision.ts";

import { type Html, html, jsonForScript, trusted } from "./html.ts";
import { pageScript, pageStyle } from "./pageAssets.ts";
import { type SvgInks, svgStyle } from "./svgStyle.ts";

export interface SectionSpec {
  /** Anchor; letters, digits, hyphens. */
  readonly id: string;
  /** The question that the section answers: "How clean?". */
  readonly heading: string;
  readonly body: Html;
}

/** A page of the house: what score, compare, regress and trend have in common. */
export interface ShellSpec {
  /** What kind of page: "Score", "Comparison", "Regression", "Trend". */
  readonly kind: string;
  readonly title: string;
  /** One line below the title: conditions, boards, dates. */
  readonly subtitle?: string;
  /** Readings came from a simulation: said at the top of every printed page. */
  readonly simulated: boolean;
  readonly verdict: {
    readonly decision: DecisionWord;
    /** One plain sentence: "INL exceeds its limit." */
    readonly headline: string;
    readonly body: Html;
  } | null;
  readonly sections: readonly SectionSpec[];
  /** JSON carried by the page, each in a script element of this id. */
  readonly data?: readonly { readonly id: string; readonly json: string }[];
  readonly version: string;
  /** ISO 8601, or null where the page must be reproducible. */
  readonly written: string | null;
  /** Repeated at the foot of the page and of every printed sheet: the hash of what was analysed. */
  readonly foot: string;
  /** The page loads itself again every few seconds while nobody is working in it (watch). */
  readonly reload?: boolean;
}

const PAGE_INKS = {
  ink: "var(--ink)",
  soft: "var(--soft)",
  rule: "var(--rule)",
  paper: "var(--paper)",
  main: "var(--main)",
  second: "var(--second)",
  third: "var(--third)",
  limit: "var(--limit)",
} satisfies SvgInks;

const hashOf = (text: string): string => `'sha256-${createHash("sha256").update(text, "utf8").digest("base64")}'`;

/**
 * Writes a page: one file that needs nothing from outside and is complete before its script runs. The content security policy allows this file's own
 * style and script by hash, and images made in the page (saving a figure); everything else is refused.
 */
export function renderShell(page: ShellSpec): string {
  const sheetFoot = `codestair ${page.version}${page.simulated ? " · simulated data" : ""} · ${page.foot}`;
  const style = `${pageStyle}\n${svgStyle(PAGE_INKS)}\n${sheetRule(sheetFoot)}`;
  const script = pageScript;
  const policy = [
    "default-src 'none'",
    `script-src ${hashOf(script)}`,
    `style-src ${hashOf(style)}`,
    "img-src data: blob:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
  const document = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="codestair ${page.version}">
<title>${page.title} · ${page.kind.toLowerCase()}</title>
<link rel="icon" href="data:,">
<style>${trusted(style)}</style>
</head>
<body${page.reload && trusted(' data-reload="true"')}${page.simulated && trusted(' data-simulated="true"')}>
<a class="skip" href="#content">Skip to the result</a>
<header class="masthead">
<p class="kind">${STAIR}<span>codestair</span> · ${page.kind}</p>
<h1>${page.title}</h1>
${page.subtitle && html`<p class="subtitle">${page.subtitle}</p>`}
${page.simulated && html`<p class="simulated"><strong>Simulated data.</strong> These readings were computed, not measured on a board.</p>`}
</header>
<main id="content" tabindex="-1">
${
  page.verdict &&
  html`<section class="verdict ${page.verdict.decision.replace(" ", "-")}" aria-labelledby="verdict"><h2 id="verdict">${decisionBadge(page.verdict.decision)}<span class="headline">${page.verdict.headline}</span></h2>
${page.verdict.body}</section>`
}
${
  page.sections.length > 1 &&
  html`<nav class="contents" aria-label="Questions"><ol>${page.sections.map((s) => html`<li><a href="#${s.id}">${s.heading}</a></li>`)}</ol></nav>`
}
${page.sections.map(
  (s) => html`<section class="question" id="${s.id}" aria-labelledby="${s.id}-heading">
<h2 id="${s.id}-heading">${s.heading}</h2>
<div class="answer">${s.body}</div>
</section>
`,
)}
</main>
<footer class="foot">
<p>${page.foot}</p>
<p>Written by codestair ${page.version}${page.written && html` on <time datetime="${page.written}">${page.written.slice(0, 16).replace("T", " ")} UTC</time>`}.${page.simulated && " Simulated data."}</p>
</footer>
<p id="spoken" class="spoken" role="status" aria-live="polite"></p>
${(page.data ?? []).map((d) => html`<script type="application/json" id="${d.id}">${jsonForScript(d.json)}</script>\n`)}
<script>${trusted(script)}</script>
</body>
</html>
`;
  return document.text;
}

/** The line at the foot of every printed sheet. As a CSS string, in which only backslash, quotes, line ends and the end of the style element mean something. */
function sheetRule(text: string): string {
  const short = text.length > 150 ? `${text.slice(0, 147)}…` : text;
  const quoted = short.replace(/[^\w .,:;·…()/-]/gu, (c) => `\\${(c.codePointAt(0) as number).toString(16)} `);
  return `@page{@bottom-left{content:"${quoted}";font:7.5pt "DejaVu Sans",sans-serif;color:#444;width:88%}@bottom-right{width:12%;white-space:nowrap;content:counter(page) " / " counter(pages);font:7.5pt "DejaVu Sans",sans-serif;color:#444}}`;
}

/** A rising stair of codes against a straight line: the sign of the house. */
const STAIR = trusted(
  '<svg class="stair" viewBox="0 0 26 16" aria-hidden="true"><path d="M1 15H7V11H13V7H19V3H25"/><path d="M2 16L24 1"/></svg>',
);
