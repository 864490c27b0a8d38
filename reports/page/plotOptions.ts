import uPlot from "uplot";
import { axisTitle, type Extent, tickLabels, ticks, yExtent } from "../figureScale.ts";
import type { FigureSpec, SeriesStyle } from "../figureSpec.ts";
import { drawOver, drawUnder, ink } from "./draw.ts";
import type { Joined } from "./joinSeries.ts";

const DASH: Record<SeriesStyle, number[]> = { main: [], second: [6, 3], third: [2, 2.5], reference: [9, 3, 2, 3] };
const FONT = '12px system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif';

/** What uPlot needs to know of the plot around it. */
export interface PlotSurroundings {
  readonly xLog: boolean;
  readonly size: { readonly width: number; readonly height: number };
  /** The stretch of x that is seen now. */
  view(): Extent;
  /** Shows a stretch, or with null all of it. */
  show(wanted: Extent | null): void;
  /** The cursor moved. */
  moved(): void;
}

/** A figure in uPlot's terms: axes, series, bands, linked cursor, and our own drawing below and above the curves. */
export function plotOptions(spec: FigureSpec, { columns, bands }: Joined, plot: PlotSurroundings): uPlot.Options {
  const { xLog } = plot;
  const yLog = spec.y.log ?? false;
  const rows = Math.min(3, (spec.marks ?? []).filter((m) => m.label !== "").length);
  const axis = {
    font: FONT,
    labelFont: FONT,
    stroke: () => ink("--soft"),
    grid: { stroke: () => ink("--rule"), width: 1 },
    ticks: { show: false },
    filter: (_: uPlot, splits: number[]) => splits,
  };
  return {
    ...plot.size,
    padding: [8 + rows * 13, 12, 0, 0],
    legend: { show: false },
    scales: {
      x: { time: false, distr: xLog ? 3 : 1, range: () => [...plot.view()] as [number, number] },
      y: { distr: yLog ? 3 : 1, range: () => [...yExtent(spec, plot.view(), yLog)] as [number, number] },
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
          plot.show(null);
          return null;
        },
      },
    },
    hooks: {
      drawClear: [(u) => drawUnder(u, spec)],
      draw: [(u) => drawOver(u, spec)],
      setCursor: [() => plot.moved()],
      setSelect: [
        (u) => {
          if (u.select.width < 4) return;
          const from = u.posToVal(u.select.left, "x");
          const to = u.posToVal(u.select.left + u.select.width, "x");
          u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
          plot.show([from, to]);
        },
      ],
    },
  };
}
