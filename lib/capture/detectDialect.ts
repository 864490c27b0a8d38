import Papa from "papaparse";
import type { ReadingHints } from "../bench/bench.ts";
import { planBytes } from "./planBytes.ts";
import { planColumns } from "./planColumns.ts";
import { planDump } from "./planDump.ts";
import { planTerminal } from "./planTerminal.ts";
import { COMMENT, type ReadingPlan } from "./readingPlan.ts";

/**
 * Works out how a log is written, from its beginning: each kind of table and the terminal's text try to read the sample, and the one that explains most of
 * its lines reads the log. Between equals a table goes first.
 * @param lines  cleaned lines of the beginning, blank ones included
 * @returns null when nothing explains the lines
 */
export function detectDialect(lines: readonly string[], hints: ReadingHints): ReadingPlan | null {
  // Where nearly every line begins like a comment, that is how the firmware prints.
  const filled = lines.filter((l) => l !== "");
  const commented = filled.filter((l) => COMMENT.test(l)).length;
  const comment = commented > 0.8 * filled.length && commented > 2 ? NEVER : COMMENT;
  const share = (p: ReadingPlan): number => p.explained / Math.max(1, p.seen);
  let best: ReadingPlan | null = null;
  const consider = (plan: ReadingPlan | null): void => {
    if (plan !== null && plan.explained > 0 && (best === null || plan.explained > best.explained)) best = plan;
  };
  const text = filled.join("\n");
  // Between a dump's addresses and words there are blanks, between bytes other signs as well: most logs have none, and need not be asked line by line.
  if (/[^\S\n]/.test(text)) consider(planDump(lines, hints));
  if (/[ ,:;]/.test(text)) consider(planBytes(lines, hints, comment));
  if (best !== null && share(best) > 0.9) return best;
  const delimiters = hints.delimiter !== undefined ? [hints.delimiter] : likelyDelimiters(filled);
  const mayBeList = LIST_MARK.test(text);
  for (const delimiter of delimiters) {
    // A delimiter that never comes makes no table, nor a list without its brackets: not worth cutting thousands of lines for.
    if (delimiter !== null && !mayBeList && !(delimiter === " " ? BLANK.test(text) : text.includes(delimiter)))
      continue;
    consider(planColumns(lines, delimiter, hints, comment));
    // A clean table needs no second opinion.
    if (best !== null && share(best) > 0.97) return best;
  }
  if (best === null || share(best) < 0.97) consider(planTerminal(lines, hints, comment));
  return best;
}

/** Delimiters to try: first what papaparse makes of the beginning, then the others; last, one field a line. */
function likelyDelimiters(filled: readonly string[]): readonly (string | null)[] {
  const usual = [";", "\t", "|", ",", " "];
  const guess = Papa.parse(filled.slice(0, 64).join("\n"), { preview: 32, delimitersToGuess: usual }).meta.delimiter;
  return [...(usual.includes(guess) ? [guess] : []), ...usual.filter((d) => d !== guess), null];
}

const NEVER = /(?!)/;
const LIST_MARK = /[[\](){}]/;
const BLANK = /[ \t\u00a0]/;
