import { type Html, html } from "./html.ts";

/** How a decision is shown: a word and a shape, so that colour is never the only carrier. */
export const DECISIONS = {
  pass: { word: "pass", mark: "✓" },
  fail: { word: "fail", mark: "✕" },
  undecided: { word: "undecided", mark: "?" },
  "not measured": { word: "not measured", mark: "–" },
  none: { word: "no limits set", mark: "–" },
} as const;
export type DecisionWord = keyof typeof DECISIONS;

export function decisionBadge(decision: DecisionWord): Html {
  const { word, mark } = DECISIONS[decision];
  return html`<span class="decision ${decision.replace(" ", "-")}"><span class="mark" aria-hidden="true">${mark}</span> ${word}</span>`;
}
