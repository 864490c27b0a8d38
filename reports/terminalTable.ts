import type { Shown } from "./number.ts";

/** One column of a terminal table: numbers line up on their decimal point, text on its left edge. */
export interface TerminalColumn {
  readonly head: string;
  readonly align: "point" | "left" | "right";
}

/** Columns a terminal gives to a text: what a combining mark or a wide character costs is counted as people see it. */
export function width(text: string): number {
  let columns = 0;
  for (const c of text) {
    const code = c.codePointAt(0) as number;
    if (/\p{Mn}/u.test(c)) continue;
    columns +=
      code >= 0x1100 &&
      /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe4f\uff00-\uff60\u{1f300}-\u{1faff}]/u.test(c)
        ? 2
        : 1;
  }
  return columns;
}

/**
 * Lays out rows so that decimal points, units and words stand below each other; two spaces between columns.
 * @returns lines without trailing blanks, the heads first
 */
export function terminalTable(columns: readonly TerminalColumn[], rows: readonly (readonly string[])[]): string[] {
  const laid = columns.map((column, i) =>
    layColumn(
      column,
      rows.map((r) => r[i] ?? ""),
    ),
  );
  return Array.from({ length: rows.length + 1 }, (_, line) =>
    laid
      .map((cells) => cells[line] as string)
      .join("  ")
      .trimEnd(),
  );
}

function layColumn({ head, align }: TerminalColumn, cells: readonly string[]): string[] {
  if (align !== "point") {
    const all = [head, ...cells];
    const wide = Math.max(...all.map(width));
    return all.map((c) => (align === "right" ? " ".repeat(wide - width(c)) + c : c + " ".repeat(wide - width(c))));
  }
  const parts = cells.map(splitAtPoint);
  const before = Math.max(0, ...parts.map(([a]) => width(a)));
  const after = Math.max(0, ...parts.map(([, b]) => width(b)));
  const wide = Math.max(width(head), before + after);
  const lines = parts.map(([a, b]) => " ".repeat(wide - after - width(a)) + a + b + " ".repeat(after - width(b)));
  return [" ".repeat(wide - width(head)) + head, ...lines];
}

/** At the decimal point of the first number; a text without one ends where whole numbers end. */
function splitAtPoint(cell: string): [string, string] {
  const at = cell.search(/(?<=\d)\.\d/);
  if (at >= 0) return [cell.slice(0, at), cell.slice(at)];
  return [cell, ""];
}

/** A value's ± column: "0.030", or both sides where they differ. */
export function spreadText(shown: Shown): string {
  return shown.spread.replace(" −", "/−");
}

/** Breaks text at blanks to lines of at most `columns`; only a word that is longer than a line is cut. */
export function wrapLines(text: string, columns: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/[ \n]+/).flatMap((w) => cutWord(w, columns))) {
    if (line !== "" && width(line) + 1 + width(word) > columns) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  if (line !== "") lines.push(line);
  return lines;
}

function cutWord(word: string, columns: number): string[] {
  if (width(word) <= columns) return [word];
  const pieces: string[] = [];
  let piece = "";
  for (const c of word) {
    if (width(piece + c) > columns) {
      pieces.push(piece);
      piece = c;
    } else piece += c;
  }
  return [...pieces, piece];
}
