import uPlot from "uplot";
import { type Extent, xExtent } from "../figureScale.ts";
import type { FigureSpec } from "../figureSpec.ts";
import { plain } from "../number.ts";
import { positionsOf } from "../packedFigure.ts";
import { copyText } from "./copyText.ts";
import { figurePoints } from "./figurePoints.ts";
import { type DrawnColumn, joinSeries } from "./joinSeries.ts";
import { listenToTouch } from "./listenToTouch.ts";
import { plotOptions } from "./plotOptions.ts";
import { savePng, saveSvg } from "./saveFigure.ts";
import { button, say } from "./say.ts";

/** Plots whose x axes show the same thing: they zoom together, and a plot that comes alive later takes the group's view. */
const groups = new Map<string, { members: Set<InteractivePlot>; view: Extent | null }>();

/**
 * One figure made interactive: zoom (drag, buttons, + −), pan (buttons, shift and arrows, one finger), a cursor with values (pointer, arrows), all of it
 * linked to the other figures of its group; and the figure's way out of the page (PNG, SVG, points).
 */
export class InteractivePlot {
  private plot: uPlot;
  private xLog: boolean;
  private view: Extent;
  private whole: Extent;
  private columns: readonly DrawnColumn[] = [];
  private readonly holder: HTMLElement;
  private readonly readout: HTMLElement;
  private readonly figure: HTMLElement;
  private readonly spec: FigureSpec;

  constructor(figure: HTMLElement, spec: FigureSpec) {
    this.figure = figure;
    // Columns are unpacked once; every later pass reuses them.
    this.spec = { ...spec, series: spec.series.map((s) => ({ ...s, x: positionsOf(s.x) })) };
    this.xLog = spec.x.log ?? false;
    this.whole = xExtent(this.spec, this.xLog);
    this.view = this.group()?.view ?? this.whole;
    this.holder = document.createElement("div");
    this.holder.className = "live-plot";
    this.holder.tabIndex = 0;
    this.holder.setAttribute("role", "application");
    this.holder.setAttribute("aria-roledescription", "interactive plot");
    this.holder.setAttribute("aria-label", `${spec.title}: arrows move the cursor, plus and minus zoom, 0 shows all`);
    this.readout = document.createElement("p");
    this.readout.className = "readout";
    const drawing = figure.querySelector(".drawing") as HTMLElement;
    drawing.after(this.holder, this.readout);
    (figure.querySelector("figcaption") as HTMLElement).after(this.tools());
    figure.classList.add("live");
    this.plot = this.build();
    this.group()?.members.add(this);
    this.holder.addEventListener("keydown", (event) => this.onKey(event));
    listenToTouch(this.holder, {
      width: () => this.plot.over.clientWidth,
      pan: (share) => this.pan(share),
      zoom: (factor) => this.zoom(factor),
    });
    new ResizeObserver(() => {
      const { width, height } = this.size();
      if (width !== this.plot.width || height !== this.plot.height) this.plot.setSize({ width, height });
    }).observe(this.holder);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.plot.redraw(false));
    this.showReadout();
  }

  private group(): { members: Set<InteractivePlot>; view: Extent | null } | null {
    const key = this.spec.group;
    if (!key) return null;
    let found = groups.get(key);
    if (!found) {
      found = { members: new Set(), view: null };
      groups.set(key, found);
    }
    return found;
  }

  private size(): { width: number; height: number } {
    const width = Math.max(240, Math.floor(this.holder.clientWidth));
    return { width, height: this.figure.classList.contains("wide") && width > 700 ? 320 : 290 };
  }

  private build(): uPlot {
    const joined = joinSeries(this.spec, this.xLog, this.spec.y.log ?? false);
    this.columns = joined.columns;
    const options = plotOptions(this.spec, joined, {
      xLog: this.xLog,
      size: this.size(),
      view: () => this.view,
      show: (wanted) => this.show(wanted ?? this.whole),
      moved: () => this.showReadout(),
    });
    this.holder.replaceChildren();
    return new uPlot(options, joined.data as uPlot.AlignedData, this.holder);
  }

  /** Shows a stretch of x, here and in the linked figures; never beyond the data, never narrower than a millionth of it. */
  show(wanted: Extent, spread = true): void {
    const f = this.xLog ? Math.log : (v: number) => v;
    const g = this.xLog ? Math.exp : (v: number) => v;
    const [w0, w1] = [f(this.whole[0]), f(this.whole[1])];
    let [a, b] = [f(this.xLog ? Math.max(wanted[0], this.whole[0]) : wanted[0]), f(wanted[1])];
    const least = (w1 - w0) * 1e-6;
    if (!(b - a > least)) return;
    const span = Math.min(b - a, w1 - w0);
    if (a < w0) [a, b] = [w0, w0 + span];
    if (b > w1) [a, b] = [w1 - span, w1];
    this.view = a <= w0 && b >= w1 ? this.whole : [g(a), g(b)];
    this.plot.setScale("x", { min: this.view[0], max: this.view[1] });
    const group = this.group();
    if (group && spread) {
      group.view = this.view;
      for (const member of group.members) if (member !== this) member.show(this.view, false);
    }
  }

  private zoom(factor: number): void {
    const f = this.xLog ? Math.log : (v: number) => v;
    const g = this.xLog ? Math.exp : (v: number) => v;
    const [a, b] = [f(this.view[0]), f(this.view[1])];
    const left = this.plot.cursor.left ?? -1;
    const at = left >= 0 ? f(this.plot.posToVal(left, "x")) : (a + b) / 2;
    this.show([g(at - (at - a) * factor), g(at + (b - at) * factor)]);
    say(`${plain(this.view[0])} to ${plain(this.view[1])} ${this.spec.x.unit}`);
  }

  private pan(share: number): void {
    const f = this.xLog ? Math.log : (v: number) => v;
    const g = this.xLog ? Math.exp : (v: number) => v;
    const [a, b] = [f(this.view[0]), f(this.view[1])];
    const by = (b - a) * share;
    this.show([g(a + by), g(b + by)]);
  }

  private moveCursor(steps: number): void {
    const xs = this.plot.data[0];
    const { idx, left } = this.plot.cursor;
    let at = idx ?? -1;
    if (at < 0 || (left ?? -1) < 0) at = this.plot.valToIdx((this.view[0] + this.view[1]) / 2);
    else at = Math.max(0, Math.min(xs.length - 1, at + steps));
    const x = xs[at]!;
    if (x < this.view[0] || x > this.view[1]) this.pan(steps < 0 ? -0.5 : 0.5);
    this.plot.setCursor({ left: this.plot.valToPos(x, "x"), top: 10 });
    say(this.readout.textContent ?? "");
  }

  private onKey(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target !== this.holder) return;
    const acts: Record<string, () => void> = {
      ArrowLeft: () => (event.shiftKey ? this.pan(-0.2) : this.moveCursor(-1)),
      ArrowRight: () => (event.shiftKey ? this.pan(0.2) : this.moveCursor(1)),
      "+": () => this.zoom(0.5),
      "=": () => this.zoom(0.5),
      "-": () => this.zoom(2),
      "0": () => this.show(this.whole),
      Home: () => this.show(this.whole),
      Escape: () => this.plot.setCursor({ left: -10, top: -10 }),
      l: () => this.switchAxis(),
    };
    const act = acts[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  }

  private switchAxis(): void {
    if (!this.spec.x.switchable) return;
    this.xLog = !this.xLog;
    this.whole = xExtent(this.spec, this.xLog);
    this.view = this.whole;
    this.plot.destroy();
    this.plot = this.build();
    say(this.xLog ? "logarithmic axis" : "linear axis");
  }

  private showReadout(): void {
    const at = this.plot?.cursor.idx;
    const left = this.plot?.cursor.left ?? -1;
    if (at === null || at === undefined || left < 0) {
      this.readout.textContent = "\u00a0";
      return;
    }
    const { x, y } = this.spec;
    const parts = [`${x.quantity} ${withUnit(this.plot.data[0][at]!, x.unit)}`];
    const shown = new Set<string>();
    this.columns.forEach((c, i) => {
      const value = this.plot.data[i + 1]?.[at];
      if (value === null || value === undefined) return;
      const name = c.edge ? `${c.name} ${c.edge}` : c.name;
      if (!shown.has(name)) parts.push(`${name} ${withUnit(value, y.unit)}`);
      shown.add(name);
    });
    const here = this.plot.data[0][at];
    for (const m of this.spec.marks ?? []) if (m.x === here) parts.push(m.text ?? m.label);
    this.readout.textContent = parts.join(" · ");
  }

  private tools(): HTMLElement {
    const bar = document.createElement("p");
    bar.className = "tools";
    const title = this.spec.title;
    const view = () => ({ x: this.view, xLog: this.xLog });
    bar.append(
      button("+", `Zoom in: ${title}`, () => this.zoom(0.5)),
      button("−", `Zoom out: ${title}`, () => this.zoom(2)),
      button("←", `Move left: ${title}`, () => this.pan(-0.3)),
      button("→", `Move right: ${title}`, () => this.pan(0.3)),
      button("all", `Show all: ${title}`, () => this.show(this.whole)),
    );
    if (this.spec.x.switchable) bar.append(button("log/lin", `log/lin axis: ${title}`, () => this.switchAxis()));
    bar.append(
      button("PNG", `Save as PNG: ${title}`, () => void savePng(this.spec, view())),
      button("SVG", `Save as SVG: ${title}`, () => saveSvg(this.spec, view())),
      button("points", `Copy the plotted points as CSV: ${title}`, async () => {
        say((await copyText(figurePoints(this.spec))) ? "points copied" : "The browser does not allow copying here");
      }),
    );
    return bar;
  }
}

function withUnit(value: number, unit: string): string {
  return `${plain(value, 5)}${unit === "" ? "" : ` ${unit}`}`;
}
