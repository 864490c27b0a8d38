/** A piece of HTML that is safe to put into a page: made by the `html` template or by `trusted`. */
export class Html {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
  toString(): string {
    return this.text;
  }
}

/** What may stand in an `html` template. Text is escaped; null, undefined and false leave nothing; lists are joined. */
export type HtmlValue = Html | string | number | null | undefined | false | readonly HtmlValue[];

/** The five characters that mean something in HTML, written so that they mean only themselves, in text and in quoted attributes. */
export function escapeHtml(text: string): string {
  if (!/[&<>"']/.test(text)) return text;
  return text
    .replace(/&/g, "&amp;")
    .replace(/</g, "&lt;")
    .replace(/>/g, "&gt;")
    .replace(/"/g, "&quot;")
    .replace(/'/g, "&#39;");
}

/**
 * Control characters and overrides of the writing direction, which a log may hold by accident or by malice, made visible as their code point, so
 * that a cell never reads otherwise than it was logged.
 */
export function visible(text: string): string {
  return text.replace(
    /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufffe\uffff]/g,
    (c) => `⟨U+${c.charCodeAt(0).toString(16).toUpperCase().padStart(4, "0")}⟩`,
  );
}

function render(value: HtmlValue): string {
  if (value === null || value === undefined || value === false) return "";
  if (value instanceof Html) return value.text;
  if (Array.isArray(value)) {
    let text = "";
    for (const part of value) text += render(part);
    return text;
  }
  return escapeHtml(visible(String(value)));
}

/**
 * HTML with everything put into it escaped.
 * @example html`<td>${"a < b"}</td>`.text // "<td>a &lt; b</td>"
 */
export function html(strings: TemplateStringsArray, ...values: readonly HtmlValue[]): Html {
  let text = strings[0] ?? "";
  for (let i = 0; i < values.length; i++) text += render(values[i]) + (strings[i + 1] ?? "");
  return new Html(text);
}

/** Markup made by our own code (an SVG drawing). Never pass text from a log or a bench file. */
export function trusted(markup: string): Html {
  return new Html(markup);
}

/** JSON made harmless inside a script element: no `<` can end the element or open a comment, whatever the strings hold. */
export function jsonForScript(json: string): Html {
  return new Html(
    json
      .replace(/</g, "\\u003c")
      .replace(/\u2028/g, "\\u2028")
      .replace(/\u2029/g, "\\u2029"),
  );
}
