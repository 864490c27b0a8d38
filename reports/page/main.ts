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
  tellHowPlotsWork();
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

/** Said once, above the first question; without the script there is nothing to say. */
function tellHowPlotsWork(): void {
  if (document.querySelector("figure.figure") === null) return;
  const hint = document.createElement("p");
  hint.className = "aside hint";
  hint.textContent =
    "Plots: drag across to zoom, double-click to see all, point to read values. By keyboard: arrows move the cursor, + and − zoom, shift with an arrow pans, 0 shows all. Plots over the same axis move together.";
  (document.querySelector(".contents") ?? document.querySelector("section.question"))?.after(hint);
}

start();
