import { visible } from "./html.ts";
import { wrapLines } from "./terminalTable.ts";

/** Text from a log, a bench file or a result on a terminal: no control codes, no second line. */
export function cleanText(text: string): string {
  return visible(text.replace(/[\t\r\n]+/g, " "));
}

/** A paragraph wrapped to the terminal; lines after the first are indented. */
export function paragraph(text: string, columns: number, indent = ""): string[] {
  return wrapLines(cleanText(text), columns - indent.length).map((line, i) => (i === 0 ? line : indent + line));
}

export interface TextOptions {
  readonly colour: boolean;
  readonly columns: number;
  /** Where the page was written; null where none was asked for. */
  readonly pagePath: string | null;
}

const INK = { good: "\u001b[32m", bad: "\u001b[31m", open: "\u001b[33m", plain: "" } as const;
export type Tone = keyof typeof INK;

/** Colour for a word that carries its meaning without it. */
export function inked(text: string, tone: Tone, colour: boolean): string {
  return colour && INK[tone] !== "" ? `${INK[tone]}${text}\u001b[0m` : text;
}

/** Colours the last occurrence of a word in a line of a table, which is its last column. */
export function inkLast(line: string, word: string, tone: Tone, colour: boolean): string {
  const at = line.lastIndexOf(word);
  return at < 0 ? line : line.slice(0, at) + inked(word, tone, colour) + line.slice(at + word.length);
}
