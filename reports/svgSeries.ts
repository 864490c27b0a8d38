import type { Extent } from "./figureScale.ts";
import type { SeriesSpec, SeriesStyle, Values } from "./figureSpec.ts";
import { positionsOf } from "./packedFigure.ts";
import { SvgPath } from "./svgPath.ts";

/** The plotting area, in pixels. */
export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** One series as a path, clipped to the stretch of x that is seen. */
export function seriesPath(
  s: SeriesSpec,
  [low, high]: Extent,
  px: (v: number) => number,
  py: (v: number) => number,
  box: Box,
  { xLog, yLog, column }: { xLog: boolean; yLog: boolean; column: number },
): string {
  const x = positionsOf(s.x);
  // One point beyond either edge keeps a line running to the frame.
  let first = 0;
  while (first < x.length - 1 && !(x[first + 1]! >= low)) first++;
  // A logarithmic axis has no place for 0.
  while (xLog && first < x.length - 1 && !(x[first]! > 0)) first++;
  let last = x.length - 1;
  while (last > first && !(x[last - 1]! <= high)) last--;
  const beyond = yLog ? 0 : Number.NEGATIVE_INFINITY;
  const ok = (v: number | null | undefined): v is number => v !== null && v! > beyond && v! < Infinity;
  // A column is as narrow as an eye tells apart on paper; a file that is saved to be enlarged keeps more.
  const columns = (box.right - box.left) / column;
  const path = new SvgPath();
  if (s.kind === "band") {
    return bandPath(envelopeOfColumns(x, s.low, s.high, first, last, column, columns, px, beyond), py, s.style);
  }
  if (s.kind === "points") {
    const r = last - first > 1200 ? 0.9 : last - first > 250 ? 1.3 : 2.4;
    const whiskers = new SvgPath();
    let beforeX = Number.NaN;
    let beforeY = Number.NaN;
    for (let i = first; i <= last; i++) {
      const v = s.y[i];
      if (!ok(v) || x[i]! < low || x[i]! > high) continue;
      const cx = px(x[i]!);
      const cy = py(v);
      // To a tenth of a pixel, as paths are written.
      const tenthsX = Math.round(cx * 10);
      const tenthsY = Math.round(cy * 10);
      if (tenthsX === beforeX && tenthsY === beforeY) continue;
      beforeX = tenthsX;
      beforeY = tenthsY;
      MARKERS[s.style](path, cx, cy, r);
      const a = s.low?.[i];
      const b = s.high?.[i];
      if (ok(a) && ok(b)) whiskers.moveTo(cx, py(a)).lineTo(cx, py(b));
    }
    const lines = `${whiskers}` === "" ? "" : `<path class="whisker ${s.style}" d="${whiskers}"/>`;
    return `${lines}<path class="dots ${s.style}" d="${path}"/>`;
  }
  if (s.kind === "bars") {
    const foot = Math.min(box.bottom, py(yLog ? Number.MIN_VALUE : 0));
    const base = Number.isFinite(foot) ? foot : box.bottom;
    const gap = last > first ? Math.abs(px(x[first + 1]!) - px(x[first]!)) : box.right - box.left;
    const w = Math.max(1, Math.min(60, gap * 0.8));
    for (let i = first; i <= last; i++) {
      const v = s.y[i];
      if (!ok(v)) continue;
      const left = px(x[i]!) - w / 2;
      path
        .moveTo(left, base)
        .lineTo(left, py(v))
        .lineTo(left + w, py(v))
        .lineTo(left + w, base)
        .close();
    }
    return `<path class="bars ${s.style}" d="${path}"/>`;
  }
  if (last - first > columns) {
    const { at, low, high } = envelopeOfColumns(x, s.y, s.y, first, last, column, columns, px, beyond);
    let open = false;
    for (let i = 0; i < at.length; i++) {
      if (Number.isNaN(high[i]!)) {
        open = false;
        continue;
      }
      if (open) path.lineTo(at[i]!, py(low[i]!));
      else path.moveTo(at[i]!, py(low[i]!));
      path.lineTo(at[i]!, py(high[i]!));
      open = true;
    }
    return `<path class="line ${s.style}" d="${path}"/>`;
  }
  let open = false;
  let before = 0;
  for (let i = first; i <= last; i++) {
    const v = s.y[i];
    if (!ok(v)) {
      open = false;
      continue;
    }
    const cx = px(x[i]!);
    if (s.kind === "steps") {
      const next = i < x.length - 1 ? px(x[i + 1]!) : cx + (cx - before);
      const half = (next - cx) / 2;
      const left = i > 0 ? cx - (cx - px(x[i - 1]!)) / 2 : cx - half;
      if (open) path.lineTo(left, py(v));
      else path.moveTo(left, py(v));
      path.lineTo(cx + half, py(v));
    } else if (open) path.lineTo(cx, py(v));
    else path.moveTo(cx, py(v));
    before = cx;
    open = true;
  }
  return `<path class="line ${s.style}" d="${path}"/>`;
}

/** Point series differ in shape: filled square, open diamond, cross. Each is the shortest path that looks so. */
const MARKERS: Readonly<Record<SeriesStyle, (path: SvgPath, x: number, y: number, r: number) => void>> = {
  main: square,
  second: (path, x, y, r) => {
    const d = 1.6 * r;
    path
      .moveTo(x - d, y)
      .lineTo(x, y - d)
      .lineTo(x + d, y)
      .lineTo(x, y + d)
      .close();
  },
  third: (path, x, y, r) => {
    const d = 1.5 * r;
    path
      .moveTo(x - d, y)
      .lineTo(x + d, y)
      .moveTo(x, y - d)
      .lineTo(x, y + d);
  },
  reference: square,
};

function square(path: SvgPath, x: number, y: number, r: number): void {
  path.moveTo(x - r, y - r).append(`h${2 * r}v${2 * r}h${-2 * r}z`);
}

/** Smallest and largest value of one pixel column after the other; NaN where the data have a gap. */
interface Columns {
  readonly at: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

function envelopeOfColumns(
  x: Float64Array,
  lows: Values,
  highs: Values,
  first: number,
  last: number,
  width: number,
  columns: number,
  px: (v: number) => number,
  beyond: number,
): Columns {
  const at: number[] = [];
  const low: number[] = [];
  const high: number[] = [];
  const sparse = last - first <= columns;
  let column = Number.NaN; // where the open column stands
  let lo = Number.NaN;
  let hi = Number.NaN;
  for (let i = first; i <= last; i++) {
    const here = sparse ? px(x[i]!) : Math.round(px(x[i]!) / width) * width;
    if (here !== column) {
      if (!Number.isNaN(column)) {
        at.push(column);
        low.push(lo);
        high.push(hi);
      }
      column = here;
      lo = Number.NaN;
      hi = Number.NaN;
    }
    const a = lows[i];
    const b = highs[i];
    // The low end is not above the high one.
    if (a === null || b === null || !(a! > beyond && b! < Infinity)) continue;
    if (!(lo <= a!)) lo = a!;
    if (!(hi >= b!)) hi = b!;
  }
  if (!Number.isNaN(column)) {
    at.push(column);
    low.push(lo);
    high.push(hi);
  }
  return { at, low, high };
}

function bandPath({ at, low, high }: Columns, py: (v: number) => number, style: string): string {
  const path = new SvgPath();
  let i = 0;
  while (i < at.length) {
    if (Number.isNaN(high[i]!)) {
      i++;
      continue;
    }
    let end = i;
    while (end + 1 < at.length && !Number.isNaN(high[end + 1]!)) end++;
    path.moveTo(at[i]!, py(high[i]!));
    for (let k = i + 1; k <= end; k++) path.lineTo(at[k]!, py(high[k]!));
    for (let k = end; k >= i; k--) path.lineTo(at[k]!, py(low[k]!));
    path.close();
    i = end + 1;
  }
  return `<path class="area ${style}" d="${path}"/>`;
}
