import { type Html, type HtmlValue, html } from "./html.ts";

interface ColumnSpec {
  readonly head: HtmlValue;
  /** Numbers are set right-aligned in figures of equal width. */
  readonly align?: "number" | "text";
}

export interface TableSpec {
  /** Says what the table holds; a screen reader announces it, and it names the copy. */
  readonly caption: HtmlValue;
  readonly columns: readonly ColumnSpec[];
  /** The first cell of each row is its head. */
  readonly rows: readonly (readonly HtmlValue[])[];
  /** Shown only to a screen reader when the heading above already says it. */
  readonly captionHidden?: boolean;
}

/** A table with heads and a caption, in a box of its own that scrolls when the screen is narrow; the page script adds the copy buttons. */
export function renderTable(table: TableSpec): Html {
  const align = (i: number): string => (table.columns[i]?.align === "number" ? "n" : "t");
  const caption = table.captionHidden
    ? html`<caption class="spoken">${table.caption}</caption>`
    : html`<caption>${table.caption}</caption>`;
  return html`<div class="table"><table>${caption}<thead><tr>${table.columns.map(
    (c, i) => html`<th scope="col" class="${align(i)}">${c.head}</th>`,
  )}</tr></thead><tbody>${table.rows.map(
    (row) =>
      html`<tr>${row.map((cell, i) =>
        i === 0 ? html`<th scope="row" class="${align(i)}">${cell}</th>` : html`<td class="${align(i)}">${cell}</td>`,
      )}</tr>`,
  )}</tbody></table></div>`;
}
