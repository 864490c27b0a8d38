// Cursor movement, colours, titles: everything a terminal would obey rather than print.
const ANSI =
  /\u001b(?:\[[0-9;:?<=>!]*[ -/]*[@-~]|\][^\u0007\u001b]*(?:\u0007|\u001b\\)?|[()#][0-9A-Za-z]|[=>78cDEHMNOZ])/g;
// After a line was torn, the head of a colour code may be lost: "[0m" and "[1;32m" alone.
const ORPHAN = /\[(?:\d{1,3}(?:;\d{1,3})*)?m/g;
const CONTROL = /[\u0000-\u0008\u000b-\u001f\u007f\ufeff\ufffd]/g;
const SUSPECT = /[\u0000-\u0008\u000b-\u001f\u007f\ufeff\ufffd]/;

/**
 * A line as a person would have seen it on the terminal: escape sequences, NUL and other control bytes taken out, blanks at both ends trimmed.
 * Digits are never touched.
 * @param line  one line without its line end
 * @example cleanLine("\u001b[32mADC0 = 2047\u001b[0m\r") // "ADC0 = 2047"
 */
export function cleanLine(line: string): string {
  // The typographic minus of a spreadsheet or a web page.
  const text = line.includes("\u2212") ? line.replaceAll("\u2212", "-") : line;
  if (!SUSPECT.test(text)) return trimBlanks(text);
  const hadEscape = text.includes("\u001b");
  let clean = text.replace(ANSI, "");
  if (hadEscape) clean = clean.replace(ORPHAN, "");
  return trimBlanks(clean.replace(CONTROL, ""));
}

/** Tabs stay where they part fields: an empty last column is a column. */
function trimBlanks(text: string): string {
  const first = text.charCodeAt(0);
  const last = text.charCodeAt(text.length - 1);
  if (first > 32 && last > 32 && first < 128 && last < 128) return text;
  const trimmed = text.replace(/^[ \r\n\f\v\u00a0]+|[ \r\n\f\v\u00a0]+$/g, "");
  return /^\s*$/.test(trimmed) ? "" : trimmed;
}
