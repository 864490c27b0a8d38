import { csvLine, markdownLine } from "../tableText.ts";
import { copyText } from "./copyText.ts";
import { button, say } from "./say.ts";

/** What a table shows, as rows of text. */
export function cellsOf(table: HTMLTableElement): string[][] {
  return [...table.rows].map((row) =>
    [...row.cells].map((cell) => (cell.textContent ?? "").replace(/\s+/g, " ").trim()),
  );
}

/** Below each table: copy it for a spreadsheet or for a write-up. */
export function addCopyButtons(table: HTMLTableElement): void {
  const box = table.closest(".table");
  if (!box) return;
  const name = table.caption?.textContent ?? "table";
  const copy = async (text: string, made: HTMLButtonElement): Promise<void> => {
    const done = await copyText(text);
    const before = made.textContent;
    made.textContent = done ? "copied" : "not allowed here";
    say(done ? `${name} copied` : "The browser does not allow copying here");
    setTimeout(() => {
      made.textContent = before;
    }, 1500);
  };
  const tools = document.createElement("p");
  tools.className = "tools";
  const csv = button("copy as CSV", `Copy as CSV: ${name}`, () => void copy(cellsOf(table).map(csvLine).join(""), csv));
  const markdown = button("copy as Markdown", `Copy as Markdown: ${name}`, () => {
    const [head = [], ...rows] = cellsOf(table);
    void copy(markdownLine(head) + markdownLine(head.map(() => "---")) + rows.map(markdownLine).join(""), markdown);
  });
  tools.append(csv, markdown);
  box.after(tools);
  // A table wider than its box scrolls; the keyboard must reach the box to scroll it.
  const reachable = (): void => {
    if (box.scrollWidth > box.clientWidth + 1) {
      box.setAttribute("tabindex", "0");
      box.setAttribute("role", "region");
      box.setAttribute("aria-label", `${name}, scrolls sideways`);
    } else for (const a of ["tabindex", "role", "aria-label"]) box.removeAttribute(a);
  };
  new ResizeObserver(reachable).observe(box);
}
