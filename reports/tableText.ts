/**
 * One CSV line (RFC 4180, line feed): fields with a delimiter, quote or line break are quoted. A field that a spreadsheet would run as a formula is
 * disarmed by a leading apostrophe; numbers are left alone.
 */
export function csvLine(fields: readonly (string | number | null)[]): string {
  return `${fields.map(csvField).join(",")}\n`;
}

function csvField(field: string | number | null): string {
  if (field === null) return "";
  if (typeof field === "number") return Number.isFinite(field) ? String(field) : "";
  // A true minus sign would make a number unreadable to a spreadsheet, and so would the narrow space between thousands.
  const plainText = field.replace(/−(?=[\d.])/g, "-").replace(/(?<=\d)\u202f(?=\d)/g, "");
  const safe = /^[=+\-@\t\r]/.test(plainText) && !/^[+-]?[\d.]/.test(plainText) ? `'${plainText}` : plainText;
  return /[",\n\r]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
}

/** One row of a Markdown table; bars, line breaks and markup signs in the cells mean only themselves. */
export function markdownLine(cells: readonly string[]): string {
  return `| ${cells.map(markdownText).join(" | ")} |\n`;
}

/** Text that Markdown renders as it stands. */
export function markdownText(text: string): string {
  return text.replace(/[\\`*_[\]<>|#]/g, (c) => `\\${c}`).replace(/\s*[\r\n]+\s*/g, " ");
}
