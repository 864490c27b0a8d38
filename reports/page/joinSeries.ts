import uPlot from "uplot";
import type { FigureSpec, SeriesSpec, SeriesStyle, Values } from "../figureSpec.ts";
import { positionsOf } from "../packedFigure.ts";

/** One column of the joined data. A band gives two, its edges. */
export interface DrawnColumn {
  readonly name: string;
  readonly kind: SeriesSpec["kind"] | "line";
  readonly style: SeriesStyle;
  readonly edge: "low" | "high" | null;
  readonly count: number;
}

/** A figure's series on one column of x. */
export interface Joined {
  readonly data: unknown;
  readonly columns: readonly DrawnColumn[];
  readonly bands: readonly { readonly low: number; readonly high: number; readonly style: SeriesStyle }[];
}

/**
 * Series with different x brought onto one ascending column, as uPlot wants it: a place where a series has no point is left undefined (its line runs on), a gap in
 * its data is null (its line breaks).
 */
export function joinSeries(spec: FigureSpec, xLog: boolean, yLog: boolean): Joined {
  const columns: DrawnColumn[] = [];
  const bands: { low: number; high: number; style: SeriesStyle }[] = [];
  const tables: (number | null)[][][] = [];
  for (const s of spec.series) {
    const xs = positionsOf(s.x);
    const kept: number[] = [];
    for (let i = 0; i < xs.length; i++)
      if (Number.isFinite(xs[i]) && (!xLog || xs[i]! > 0) && !(i > 0 && xs[i]! <= xs[i - 1]!)) kept.push(i);
    const pick = (v: Values): (number | null)[] =>
      kept.map((i) => {
        const y = v[i];
        return y === null || y === undefined || !Number.isFinite(y) || (yLog && y <= 0) ? null : y;
      });
    const x = kept.map((i) => xs[i]!);
    if (x.length === 0) continue;
    const base = { name: s.name, style: s.style, count: x.length };
    if (s.kind === "band") {
      tables.push([x, pick(s.low), pick(s.high)]);
      columns.push({ ...base, kind: "line", edge: "low" }, { ...base, kind: "line", edge: "high" });
      bands.push({ low: columns.length - 1, high: columns.length, style: s.style });
    } else {
      tables.push([x, pick(s.y)]);
      columns.push({ ...base, kind: s.kind, edge: null });
    }
  }
  if (tables.length === 0) return { data: [[0, 1]], columns, bands };
  const data = tables.length === 1 ? tables[0] : uPlot.join(tables as unknown as uPlot.AlignedData[]);
  return { data, columns, bands };
}
