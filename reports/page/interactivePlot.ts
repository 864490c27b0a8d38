import uPlot from "uplot";
import { axisTitle, type Extent, tickLabels, ticks, xExtent, yExtent } from "../figureScale.ts";
import type { FigureSpec, SeriesStyle } from "../figureSpec.ts";
import { plain } from "../number.ts";
import { positionsOf } from "../packedFigure.ts";
import { copyText } from "./copyText.ts";
import { type DrawnColumn, drawOver, drawUnder, ink, joinSeries } from "./draw.ts";
import { figurePoints } from "./figurePoints.ts";
import { savePng, saveSvg } from "./saveFigure.ts";
import { button, say } from "./say.ts";

const DASH: Record<SeriesStyle, number[]> = { main: [], second: [6, 3], third: [2, 2.5], reference: [9, 3, 2, 3] };
const FONT = '12px system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif';

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
  private columns: DrawnColumn[] = [];
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
    this.listenToTouch();
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
    const { spec, xLog } = this;
    const yLog = spec.y.log ?? false;
    const { data, columns, bands } = joinSeries(spec, xLog, yLog);
    this.columns = columns;
    const rows = Math.min(3, (spec.marks ?? []).filter((m) => m.label !== "").length);
    const axis = {
      font: FONT,
      labelFont: FONT,
      stroke: () => ink("--soft"),
      grid: { stroke: () => ink("--rule"), width: 1 },
      ticks: { show: false },
      filter: (_: uPlot, splits: number[]) => splits,
    };
    const options: uPlot.Options = {
      ...this.size(),
      padding: [8 + rows * 13, 12, 0, 0],
      legend: { show: false },
      scales: {
        x: { time: false, distr: xLog ? 3 : 1, range: () => [this.view[0], this.view[1]] },
        y: { distr: yLog ? 3 : 1, range: () => [...yExtent(this.spec, this.view, yLog)] as [number, number] },
      },
      axes: [
        {
          ...axis,
          label: axisTitle(spec.x),
          labelSize: 18,
          size: 26,
          splits: (u, _i, low, high) => ticks([low, high], Math.max(3, Math.floor((u.width - 60) / 68)), spec.x, xLog),
          values: (_u, splits) => tickLabels(splits, xLog),
        },
        {
          ...axis,
          label: axisTitle(spec.y),
          labelSize: 18,
          size: (_u: uPlot, labels: string[] | null) => 14 + 7 * Math.max(3, ...(labels ?? []).map((l) => l.length)),
          splits: (u, _i, low, high) => ticks([low, high], Math.max(3, Math.floor((u.height - 50) / 28)), spec.y, yLog),
          values: (_u, splits) => tickLabels(splits, yLog),
        },
      ],
      series: [
        {},
        ...columns.map((c): uPlot.Series => {
          const stroke = (): string => ink(c.style === "reference" ? "--soft" : `--${c.style}`);
          const base = {
            label: c.name,
            stroke,
            width: c.edge === null ? 1.4 : c.style === "reference" ? 0 : 0.8,
            spanGaps: false,
          };
          // Points are drawn by drawOver, each style in its own shape.
          if (c.kind === "points") return { ...base, paths: () => null, points: { show: false } };
          const series: uPlot.Series = { ...base, points: { show: c.count <= 60 && !c.edge, size: 4, fill: stroke } };
          if (c.kind === "steps") series.paths = uPlot.paths.stepped!({ align: 1 });
          if (c.kind === "bars") {
            series.paths = uPlot.paths.bars!({ size: [0.8, 60] });
            series.fill = () => `${ink(c.style === "reference" ? "--soft" : `--${c.style}`)}88`;
            series.points = { show: false };
          }
          if (c.kind === "line" && !c.edge) series.dash = DASH[c.style];
          return series;
        }),
      ],
      bands: bands.map((b) => ({
        series: [b.high, b.low],
        fill: () => `${ink(b.style === "reference" ? "--soft" : `--${b.style}`)}44`,
      })),
      cursor: {
        y: false,
        drag: { x: true, y: false, setScale: false },
        points: { size: 7 },
        ...(spec.group
          ? {
              sync: {
                key: spec.group,
                scales: ["x", null],
                filters: { pub: (type: string) => type === "mousemove" || type === "mouseleave" },
              },
            }
          : {}),
        bind: {
          dblclick: () => () => {
            this.show(this.whole);
            return null;
          },
        },
      },
      hooks: {
        drawClear: [(u) => drawUnder(u, spec)],
        draw: [(u) => drawOver(u, spec)],
        setCursor: [() => this.showReadout()],
        setSelect: [
          (u) => {
            if (u.select.width < 4) return;
            const from = u.posToVal(u.select.left, "x");
            const to = u.posToVal(u.select.left + u.select.width, "x");
            u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
            this.show([from, to]);
          },
        ],
      },
    };
    this.holder.replaceChildren();
    return new uPlot(options, data as uPlot.AlignedData, this.holder);
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

  /** One finger pans, two fingers zoom; up and down still scroll the page. */
  private listenToTouch(): void {
    const down = new Map<number, number>();
    const over = this.holder;
    const spread = (): number => {
      const xs = [...down.values()];
      return xs.length < 2 ? 0 : Math.abs(xs[0]! - xs[1]!);
    };
    over.addEventListener("pointerdown", (event) => {
      if (event.pointerType === "touch") down.set(event.pointerId, event.clientX);
    });
    over.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (event.pointerType !== "touch" || before === undefined) return;
      const wide = spread();
      down.set(event.pointerId, event.clientX);
      if (down.size === 1) this.pan((before - event.clientX) / this.plot.over.clientWidth);
      else if (wide > 0 && spread() > 0) this.zoom(wide / spread());
    });
    for (const end of ["pointerup", "pointercancel"] as const)
      over.addEventListener(end, (event) => down.delete(event.pointerId));
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
