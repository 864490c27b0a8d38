import type { PackedFigure } from "../packedFigure.ts";
import { unpackFigure } from "../packedFigure.ts";
import { addCopyButtons } from "./copyTable.ts";
import { InteractivePlot } from "./interactivePlot.ts";
import { openForPrint } from "./openForPrint.ts";
import { reloadWhenIdle } from "./reloadWhenIdle.ts";

/** What the page does beyond what it says: plots come alive as they near the screen, tables can be copied, folds open for paper. */
function start(): void {
  for (const table of document.querySelectorAll("table")) addCopyButtons(table);
  openForPrint();
  if (document.body.dataset.reload === "true") reloadWhenIdle();
  const mount = (figure: Element): void => {
    const data = figure.querySelector("script.figure-data");
    if (data?.textContent && !figure.classList.contains("live"))
      new InteractivePlot(figure as HTMLElement, unpackFigure(JSON.parse(data.textContent) as PackedFigure));
  };
  const near = new IntersectionObserver(
    (entries) => {
      for (const entry of entries) {
        if (!entry.isIntersecting) continue;
        near.unobserve(entry.target);
        mount(entry.target);
      }
    },
    { rootMargin: "600px" },
  );
  for (const figure of document.querySelectorAll("figure.figure")) near.observe(figure);
}

start();
