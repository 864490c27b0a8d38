import Papa from "papaparse";
import type { LineForm } from "./readingPlan.ts";

/**
 * Fields of one line. Quoted fields are papaparse's work; a plain line is only split.
 * @param delimiter  one character, or " " for runs of blanks and tabs
 */
export function splitFields(line: string, delimiter: string): string[] {
  if (delimiter === " ") return line.trim().split(/[ \t\u00a0]+/);
  if (delimiter === "|") {
    const inner = line.trim().replace(/^\|/, "").replace(/\|$/, "");
    return inner.split("|").map((f) => f.trim());
  }
  if (line.includes('"')) {
    const simple = simplyQuoted(line, delimiter);
    if (simple !== null) return simple;
    const parsed = Papa.parse<string[]>(line, { delimiter, newline: "\n" });
    const row = parsed.data[0];
    if (row !== undefined && parsed.data.length === 1) return row.map((f) => f.trim());
  }
  return line.split(delimiter).map((f) => f.trim());
}

/** Whole fields in quotes, and nothing in them that quotes are needed for: what papaparse would give, faster. Null where it is not so. */
function simplyQuoted(line: string, delimiter: string): string[] | null {
  const parts = line.split('"');
  if (parts.length % 2 === 0) return null;
  for (let i = 0; i < parts.length; i++) {
    const part = parts[i]!;
    if (i % 2 === 1) {
      if (part.includes(delimiter)) return null;
      continue;
    }
    // Outside of quotes a delimiter stands on each side that a quote is on.
    if (i > 0 && part === "" && i < parts.length - 1) return null;
    if (i > 0 && part !== "" && part[0] !== delimiter) return null;
    if (i < parts.length - 1 && part !== "" && part[part.length - 1] !== delimiter) return null;
  }
  return parts
    .join("")
    .split(delimiter)
    .map((f) => f.trim());
}

export const OTHER_FIELD_COUNT = "another number of fields";

/** A table: one row a line. */
export function delimitedForm(delimiter: string | null, count: number): LineForm {
  const one: string[][] = [[]];
  return {
    rows(text) {
      if (delimiter === null) {
        one[0] = [text];
        return one;
      }
      const fields = splitFields(text, delimiter);
      while (fields.length > count && fields[fields.length - 1] === "") fields.pop();
      if (fields.length !== count) return OTHER_FIELD_COUNT;
      one[0] = fields;
      return one;
    },
  };
}

/**
 * Several readings a line, all of one channel: `lead` columns (time, sequence) and then any number of readings.
 */
export function listForm(delimiter: string, lead: number): LineForm {
  return {
    rows(text) {
      const fields = splitFields(listBody(text), delimiter);
      while (fields.length > lead + 1 && fields[fields.length - 1] === "") fields.pop();
      if (fields.length <= lead) return OTHER_FIELD_COUNT;
      const none = new Array<string>(lead).fill("");
      return fields.slice(lead).map((f, i) => [...(i === 0 ? fields.slice(0, lead) : none), f]);
    },
  };
}

/** A line of a list without the brackets and the name around it: `[1, 2, 3]`, `$1 = {1, 2,`, `4, 5};`. */
export function listBody(text: string): string {
  const line = text.includes("<repeats ") ? withRepeats(text) : text;
  const open = /^(?:[\w$*<>[\] ]*=\s*)?[[({]\s*([^[\](){}]*)(?:[\])}]+\s*[;,]?)?$/.exec(line);
  if (open !== null && /^[-+]?[\dA-Fa-f]/.test(open[1]!)) return open[1]!.trim();
  const close = /^([-+\dA-Fa-fxX,;\s]*[\dA-Fa-f,])\s*[\])}]+\s*[;,]?$/.exec(line);
  return close === null ? line : close[1]!.trim();
}

/** A debugger shortens runs: `2048 <repeats 12 times>`. At most a million readings a line are written out. */
function withRepeats(line: string): string {
  let room = 1_000_000;
  return line.replace(/([-+\w]+)\s*<repeats (\d{1,9}) times>/g, (whole, value: string, times: string) => {
    const n = Number(times);
    if (n < 1 || n > room) return whole;
    room -= n;
    return new Array<string>(n).fill(value).join(", ");
  });
}
