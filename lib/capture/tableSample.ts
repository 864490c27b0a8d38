import { splitFields } from "./delimitedForm.ts";
import { RULE } from "./readingPlan.ts";

/** A line of the sample, cut into fields. */
export interface SampleRow {
  /** 1-based. */
  readonly line: number;
  readonly fields: string[];
}

/** The sample cut at one delimiter: blank lines, rules and comments left out. */
export function sampleRows(lines: readonly string[], delimiter: string | null, comment: RegExp): SampleRow[] {
  const rows: SampleRow[] = [];
  lines.forEach((line, i) => {
    if (line === "" || RULE.test(line)) return;
    // `;` as first character is an empty first field where `;` parts the fields.
    if (comment.test(line) && !(delimiter === ";" && /^;\s*[-+\d]/.test(line))) return;
    rows.push({ line: i + 1, fields: delimiter === null ? [line] : splitFields(line, delimiter) });
  });
  return rows;
}

export function hasNumber(field: string): boolean {
  return /^["'=]*[-+$#%]?(?:\d|\.\d|[0-9A-Fa-f]{2,8}["']?$)/.test(field.trim());
}

/** Empty fields behind the last filled one do not count. */
export function filledLength(fields: readonly string[]): number {
  let n = fields.length;
  while (n > 1 && fields[n - 1]!.trim() === "") n--;
  return n;
}

/** The usual number of fields, and whether lines differ so much in it that they are lists of readings. Columns that are never filled do not count. */
export function usualCount(rows: readonly SampleRow[]): { count: number; ragged: boolean } {
  const tally = (lengths: readonly number[]): { usual: number; share: number; kinds: number } => {
    const counts = new Map<number, number>();
    for (const n of lengths) counts.set(n, (counts.get(n) ?? 0) + 1);
    const [usual, most] = [...counts].reduce((a, b) => (b[1] > a[1] || (b[1] === a[1] && b[0] > a[0]) ? b : a));
    return { usual, share: most / lengths.length, kinds: counts.size };
  };
  const filled = tally(rows.map((r) => filledLength(r.fields)));
  const whole = tally(rows.map((r) => r.fields.length));
  if (whole.share >= 0.6) {
    let count = whole.usual;
    while (count > 1 && !rows.some((r) => r.fields.length === whole.usual && r.fields[count - 1]!.trim() !== ""))
      count--;
    return { count, ragged: false };
  }
  return { count: filled.usual, ragged: filled.kinds > 1 && filled.share < 0.6 };
}

/** Has the row this many fields, empty ones behind its last filled one made up or left out? */
export function hasCount(row: SampleRow, count: number): boolean {
  return filledLength(row.fields) <= count && row.fields.length >= count;
}

/** Names may look like hexadecimal, `adc0`: words with letters in a row above rows that have none there. */
export function isNames(row: SampleRow, all: readonly SampleRow[]): boolean {
  if (row !== all[0] || all.length < 2) return false;
  const rest = all.slice(1, 200);
  const wordy = (field: string | undefined): boolean => /^["']?[\p{L}_]/u.test(field ?? "");
  return row.fields.some((field, i) => {
    if (!wordy(field)) return false;
    const lettered = rest.filter((r) => wordy(r.fields[i])).length;
    return lettered <= (rest.length < 20 ? 0 : 0.05 * rest.length);
  });
}

/** The line of names: the last line of text above the data with as many fields, or a commented one. Units in a line of their own are joined to the names. */
export function findHeader(
  rows: readonly SampleRow[],
  lines: readonly string[],
  firstData: number,
  count: number,
  delimiter: string | null,
  comment: RegExp,
): SampleRow | undefined {
  const wordy = (fields: readonly string[]): boolean =>
    fields.some((f) => /\p{L}/u.test(f)) &&
    fields.every((f) => f.trim() === "" || !/^[-+]?\d+([.,]\d+)?$/.test(f.trim()));
  const above = rows.filter((r) => r.line < firstData && wordy(r.fields));
  const exact = above.filter((r) => r.fields.length === count || filledLength(r.fields) === count);
  const last = exact.at(-1);
  if (last !== undefined && (count > 1 || last.line >= firstData - 2)) {
    const names = exact.at(-2);
    const isUnit = (f: string): boolean => /^\W*(?:[a-zµμ%°]{0,3}|LSB|counts?|codes?|volts?|ticks?)\W*$/i.test(f);
    if (
      count > 1 &&
      names !== undefined &&
      names.line === last.line - 1 &&
      last.fields.every(isUnit) &&
      !names.fields.every(isUnit)
    ) {
      const joined = names.fields.map((f, i) =>
        last.fields[i] ? `${f} (${last.fields[i]!.replace(/[()[\]]/g, "")})` : f,
      );
      return { line: names.line, fields: joined };
    }
    if (count > 1 || /^["']?[\p{L}_#][\p{L}\d_ ()[\]./µμ#-]{0,40}["']?$/u.test(last.fields[0]!)) return last;
  }
  // Names with blanks in them, above columns parted by blanks.
  const closest = above.at(-1);
  if (delimiter === " " && closest !== undefined) {
    const wide = (lines[closest.line - 1] ?? "").trim().split(/\s{2,}|\t+/);
    if (wide.length === count) return { line: closest.line, fields: wide };
  }
  for (let line = firstData - 1; line >= 1; line--) {
    const text = lines[line - 1] ?? "";
    if (text === "") continue;
    if (!comment.test(text)) break;
    const bare = text.replace(comment, "").replace(/^[#%/;*! ]+/, "");
    const fields = delimiter === null ? [bare] : splitFields(bare, delimiter);
    if (count > 1 && fields.length === count && wordy(fields)) return { line, fields };
  }
  return undefined;
}
