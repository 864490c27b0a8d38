import type { AxisSpec, FigureSpec, Values } from "./figureSpec.ts";
import { toPlace } from "./number.ts";
import { countOf, positionsOf } from "./packedFigure.ts";

export type Extent = readonly [low: number, high: number];

/** What part of a figure is seen, and how its axes run; what is not given follows from the data. */
export interface View {
  readonly x?: Extent;
  readonly y?: Extent;
  readonly xLog?: boolean;
  readonly yLog?: boolean;
}

interface Running {
  low: number;
  high: number;
}

function take(running: Running, value: number, log: boolean): void {
  takeAll(running, [value], 0, 0, log);
}

/** Elements first … last of a column; what is no number, infinite or has no place on a logarithmic axis is left out. */
function takeAll(running: Running, column: Values, first: number, last: number, log: boolean): void {
  let { low, high } = running;
  const beyond = log ? 0 : Number.NEGATIVE_INFINITY;
  for (let i = first; i <= last; i++) {
    const v = column[i];
    // No comparison holds with NaN or with an element that the column lacks.
    if (v === null || !(v! > beyond && v! < Number.POSITIVE_INFINITY)) continue;
    if (v! < low) low = v!;
    if (v! > high) high = v!;
  }
  running.low = low;
  running.high = high;
}

/** Ends of x over all series, marks and hatched stretches. */
export function xExtent(spec: FigureSpec, log: boolean): Extent {
  if (spec.x.range && !(log && spec.x.range[0] <= 0)) return spec.x.range;
  const seen: Running = { low: Number.POSITIVE_INFINITY, high: Number.NEGATIVE_INFINITY };
  for (const s of spec.series) {
    if ("from" in s.x && !log) {
      // The first and the last say it all.
      const { from, step, count } = s.x;
      if (count > 0) takeAll(seen, [from, from + (count - 1) * step], 0, 1, log);
      continue;
    }
    const x = positionsOf(s.x);
    takeAll(seen, x, 0, x.length - 1, log);
  }
  for (const m of spec.marks ?? []) take(seen, m.x, log);
  for (const r of spec.hatched ?? []) {
    take(seen, r.from, log);
    take(seen, r.to, log);
  }
  // Points and bars at either end must not be cut by the frame.
  const roomy = spec.series.some((s) => (s.kind === "points" || s.kind === "bars") && countOf(s.x) <= 400);
  return widened(seen, log, roomy ? 0.025 : 0);
}

/**
 * Ends of y over what lies within `x`, with room above and below. Limits are kept in sight unless they lie so far out that the curve would become a line.
 */
export function yExtent(spec: FigureSpec, x: Extent, log: boolean): Extent {
  if (spec.y.range) return spec.y.range;
  const seen: Running = { low: Number.POSITIVE_INFINITY, high: Number.NEGATIVE_INFINITY };
  for (const s of spec.series) {
    const xs = positionsOf(s.x);
    let first = 0;
    while (first < xs.length && xs[first]! < x[0]) first++;
    let last = xs.length - 1;
    while (last >= first && xs[last]! > x[1]) last--;
    const columns: readonly (Values | undefined)[] = s.kind === "band" ? [s.low, s.high] : [s.y, s.low, s.high];
    for (const column of columns) if (column) takeAll(seen, column, first, last, log);
  }
  for (const m of spec.marks ?? []) if (m.y !== undefined && m.x >= x[0] && m.x <= x[1]) take(seen, m.y, log);
  const span = seen.high - seen.low;
  for (const l of spec.limits ?? []) {
    const away = Math.max(seen.low - l.y, l.y - seen.high, 0);
    if (!(span >= 0) || away <= 3 * Math.max(span, Math.abs(l.y) * 0.2)) take(seen, l.y, log);
  }
  return widened(seen, log, 0.08);
}

function widened(seen: Running, log: boolean, room: number): Extent {
  if (!(seen.high >= seen.low)) return log ? [1, 10] : [0, 1];
  if (log) {
    const grow = (seen.high / seen.low) ** room || 1;
    return seen.high === seen.low ? [seen.low / 2, seen.high * 2] : [seen.low / grow, seen.high * grow];
  }
  const span = seen.high - seen.low || Math.abs(seen.high) * 0.1 || 1;
  const pad = seen.high === seen.low ? span / 2 : span * room;
  return [seen.low - pad, seen.high + pad];
}

/** Round places for grid lines between two ends: steps of 1, 2 or 5, at most `most` of them; on a logarithmic axis the decades, with 2 and 5 when there is room. */
export function ticks([low, high]: Extent, most: number, axis: AxisSpec, log: boolean): number[] {
  if (!(high > low)) return [low];
  if (log) {
    const found: number[] = [];
    const decades = Math.log10(high / low);
    const within = decades < 1.2 ? [1, 2, 3, 4, 5, 6, 7, 8, 9] : decades < most / 3 ? [1, 2, 5] : [1];
    const every = Math.max(1, Math.ceil(decades / (most + 2)));
    for (let e = Math.floor(Math.log10(low)); e <= Math.ceil(Math.log10(high)); e++) {
      if (((e % every) + every) % every !== 0) continue;
      for (const m of within) {
        const t = m * 10 ** e;
        if (t >= low * 0.9999 && t <= high * 1.0001) found.push(t);
      }
    }
    return found;
  }
  const rough = (high - low) / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  let step = ([1, 2, 5, 10].find((m) => m * power >= rough * 0.9999) ?? 10) * power;
  if (axis.whole) step = Math.max(1, Math.round(step));
  const found: number[] = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + step * 1e-9; i++) found.push(i * step + 0); // + 0 turns −0 into 0
  return found;
}

/** Labels of grid lines, all to the same place, so that they line up. */
export function tickLabels(values: readonly number[], log: boolean): string[] {
  if (log) {
    return values.map((v) => {
      const place = Math.max(0, -Math.floor(Math.log10(v) + 1e-9));
      return v >= 1e6 || v < 1e-4 ? `10${superscript(Math.round(Math.log10(v)))}` : toPlace(v, place);
    });
  }
  const step = values.length > 1 ? Math.abs(values[1]! - values[0]!) : Math.abs(values[0] ?? 1) || 1;
  const place = Math.max(0, Math.min(12, -Math.floor(Math.log10(step) + 1e-9)));
  return values.map((v) => toPlace(v, place));
}

function superscript(n: number): string {
  return String(n)
    .replace("-", "⁻")
    .replace(/\d/g, (d) => "⁰¹²³⁴⁵⁶⁷⁸⁹"[Number(d)] as string);
}

/** "INL in LSB": how an axis is titled. */
export function axisTitle(axis: AxisSpec): string {
  return axis.unit === "" ? axis.quantity : `${axis.quantity} in ${axis.unit}`;
}
