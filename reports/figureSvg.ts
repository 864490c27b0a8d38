import { axisTitle, type Extent, tickLabels, ticks, type View, xExtent, yExtent } from "./figureScale.ts";
import type { FigureSpec, MarkSpec, SeriesSpec, SeriesStyle, Values } from "./figureSpec.ts";
import { escapeHtml, visible } from "./html.ts";
import { positionsOf } from "./packedFigure.ts";
import { SvgPath } from "./svgPath.ts";

export interface SvgOptions {
  readonly width: number;
  readonly height: number;
  readonly view?: View;
  /** A file of its own: title, key, caption, style and a background are drawn in. */
  readonly standalone?: boolean;
}

/** Colours of a drawing; in the page these are the page's own custom properties, in an exported file those of paper. */
export interface SvgInks {
  readonly ink: string;
  readonly soft: string;
  readonly rule: string;
  readonly paper: string;
  readonly main: string;
  readonly second: string;
  readonly third: string;
  readonly limit: string;
}

export const PAPER_INKS: SvgInks = {
  ink: "#1d2125",
  soft: "#565c63",
  rule: "#dcd7cc",
  paper: "#ffffff",
  main: "#0d5c6e",
  second: "#b0491a",
  third: "#5d4a9f",
  limit: "#a01c1c",
};

const SANS = 'system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif';

/** The style rules of a drawing. Series differ in dash as well as in colour. */
export function svgStyle(inks: SvgInks): string {
  return [
    `.plot text{font:12px ${SANS};fill:${inks.soft}}`,
    `.plot .grid{stroke:${inks.rule};stroke-width:1}`,
    `.plot .frame{stroke:${inks.soft};stroke-width:1;fill:none}`,
    `.plot .line{fill:none;stroke-width:1.4;stroke-linejoin:round}`,
    ...(["main", "second", "third"] as const).flatMap((s) => [
      `.plot .${s}{stroke:${inks[s]}}`,
      `.plot .area.${s}{fill:${inks[s]};fill-opacity:.22;stroke-width:.9}`,
      `.plot .bars.${s}{fill:${inks[s]};fill-opacity:.55;stroke-width:.8}`,
      `.plot .dots.${s}{fill:${inks[s]};stroke:none}`,
    ]),
    `.plot .whisker{stroke-width:1.2;fill:none}`,
    `.plot .dots.second{fill:none;stroke:${inks.second};stroke-width:1.3}`,
    `.plot .dots.third{fill:none;stroke:${inks.third};stroke-width:1.5}`,
    `.plot .line.second{stroke-dasharray:6 3}`,
    `.plot .line.third{stroke-dasharray:2 2.5}`,
    `.plot .reference{stroke:${inks.soft};stroke-width:1}`,
    `.plot .line.reference{stroke-dasharray:9 3 2 3}`,
    `.plot .area.reference{fill:${inks.soft};fill-opacity:.16;stroke:none}`,
    `.plot .bars.reference{fill:${inks.soft};fill-opacity:.3}`,
    `.plot .dots.reference{fill:${inks.soft};stroke:none}`,
    `.plot .limit{stroke:${inks.limit};stroke-width:1.3;stroke-dasharray:10 4}`,
    `.plot text.limit-label{fill:${inks.limit};stroke:${inks.paper};stroke-width:3;paint-order:stroke}`,
    `.plot .mark{stroke:${inks.ink};stroke-width:1;fill:none}`,
    `.plot text.mark-label{fill:${inks.ink};stroke:none;font-size:11px}`,
    `.plot .hatch{stroke:${inks.soft};stroke-width:1}`,
    `.plot .backing{fill:${inks.paper}}`,
    `.plot text.title{font:600 15px ${SANS};fill:${inks.ink}}`,
    `.plot text.caption{fill:${inks.ink}}`,
  ].join("\n");
}

const text = (s: string): string => escapeHtml(visible(s));
const n1 = (v: number): string => (Math.round(v * 10) / 10).toString();

/** Where a value falls in pixels. */
function projector([low, high]: Extent, from: number, to: number, log: boolean): (v: number) => number {
  if (log) {
    const a = Math.log(low);
    const b = Math.log(high);
    return (v) => from + ((Math.log(v) - a) / (b - a || 1)) * (to - from);
  }
  return (v) => from + ((v - low) / (high - low || 1)) * (to - from);
}

/**
 * Draws a figure as SVG text: what stands in the page before and without its script, in print, and in the files a reader saves.
 * Curves with more points than pixels are drawn as the smallest and largest value of each pixel column, so no peak is lost.
 */
export function figureSvg(spec: FigureSpec, options: SvgOptions): string {
  const { width, standalone = false } = options;
  const key = standalone ? keyLines(spec, width) : [];
  const captionLines = standalone ? wrap(spec.caption, Math.floor((width - 24) / 6.4)) : [];
  const titleHeight = standalone ? 30 : 0;
  const footHeight = standalone ? 8 + 17 * (key.length + captionLines.length) : 0;
  const rows = labelRows(spec.marks ?? []);
  const xLog = options.view?.xLog ?? spec.x.log ?? false;
  const yLog = options.view?.yLog ?? spec.y.log ?? false;
  const xs = options.view?.x ?? xExtent(spec, xLog);
  const ys = options.view?.y ?? yExtent(spec, xs, yLog);
  const top = titleHeight + 8 + rows * 13;
  const bottom = titleHeight + options.height - 40;
  const yTicks = ticks(ys, Math.max(3, Math.floor((bottom - top) / 28)), spec.y, yLog);
  const yLabels = tickLabels(yTicks, yLog);
  // Room for the longest label: 7 px a figure at 12 px type.
  const left = 32 + 7 * Math.max(3, ...yLabels.map((l) => l.length));
  const box: Box = { left, right: width - 12, top, bottom };
  const px = projector(xs, box.left, box.right, xLog);
  const py = projector(ys, box.bottom, box.top, yLog);
  const clip = `${spec.id}-clip`;
  const hatch = `${spec.id}-hatch`;
  const height = titleHeight + options.height + footHeight;
  const out: string[] = [
    `<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 ${width} ${height}"${standalone ? ` width="${width}" height="${height}"` : ""} role="img" aria-label="${text(`${spec.title}. ${spec.caption}`)}">`,
    standalone ? `<style>${svgStyle(PAPER_INKS)}</style><rect class="backing" width="100%" height="100%"/>` : "",
    standalone ? `<text class="title" x="12" y="22">${text(spec.title)}</text>` : "",
    `<defs><clipPath id="${clip}"><rect x="${box.left}" y="${box.top}" width="${box.right - box.left}" height="${box.bottom - box.top}"/></clipPath>`,
    `<pattern id="${hatch}" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="6"/></pattern></defs>`,
  ];
  const xTicks = ticks(xs, Math.max(3, Math.floor((box.right - box.left) / 72)), spec.x, xLog);
  const grid = [
    ...xTicks.map((t) => `M${n1(px(t))} ${box.top}V${box.bottom}`),
    ...yTicks.map((t) => `M${box.left} ${n1(py(t))}H${box.right}`),
  ];
  out.push(`<path class="grid" d="${grid.join("")}"/>`);
  tickLabels(xTicks, xLog).forEach((label, i) => {
    out.push(`<text x="${n1(px(xTicks[i]!))}" y="${box.bottom + 15}" text-anchor="middle">${label}</text>`);
  });
  yLabels.forEach((label, i) => {
    out.push(`<text x="${box.left - 6}" y="${n1(py(yTicks[i]!) + 4)}" text-anchor="end">${label}</text>`);
  });
  out.push(
    `<text x="${(box.left + box.right) / 2}" y="${box.bottom + 33}" text-anchor="middle">${text(axisTitle(spec.x))}</text>`,
    `<text transform="translate(13 ${(box.top + box.bottom) / 2}) rotate(-90)" text-anchor="middle">${text(axisTitle(spec.y))}</text>`,
    `<g clip-path="url(#${clip})">`,
  );
  for (const r of spec.hatched ?? []) {
    const a = Math.max(box.left, px(Math.max(r.from, xLog ? xs[0] : r.from)));
    const b = Math.min(box.right, px(r.to));
    if (b > box.left && a < box.right)
      out.push(
        `<rect x="${n1(a)}" y="${box.top}" width="${n1(Math.max(1, b - a))}" height="${box.bottom - box.top}" fill="url(#${hatch})"><title>${text(r.label)}</title></rect>`,
      );
  }
  for (const s of spec.series) out.push(seriesPath(s, xs, px, py, box, { xLog, yLog, column: standalone ? 0.5 : 1.7 }));
  for (const l of spec.limits ?? []) out.push(`<path class="limit" d="M${box.left} ${n1(py(l.y))}H${box.right}"/>`);
  out.push("</g>");
  for (const l of spec.limits ?? []) {
    const y = py(l.y);
    if (y < box.top - 1 || y > box.bottom + 1) continue;
    const above = y - 4 > box.top + 8 ? y - 4 : y + 13;
    out.push(
      `<text class="limit-label" x="${box.right - 4}" y="${n1(above)}" text-anchor="end">${text(l.label)}</text>`,
    );
  }
  out.push(drawMarks(spec.marks ?? [], xs, ys, px, py, box));
  out.push(
    `<rect class="frame" x="${box.left}" y="${box.top}" width="${box.right - box.left}" height="${box.bottom - box.top}"/>`,
  );
  let y = titleHeight + options.height + 14;
  for (const line of [...key, ...captionLines]) {
    out.push(`<text class="caption" x="12" y="${y}">${text(line)}</text>`);
    y += 17;
  }
  out.push("</svg>");
  return out.join("");
}

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

function seriesPath(
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
  const ok = (v: number | null | undefined): v is number =>
    v !== null && v !== undefined && Number.isFinite(v) && (!yLog || v > 0);
  // A column is as narrow as an eye tells apart on paper; a file that is saved to be enlarged keeps more.
  const columns = (box.right - box.left) / column;
  const path = new SvgPath();
  if (s.kind === "band") {
    const { top, bottom } = envelopeOfColumns(x, s.low, s.high, first, last, column, columns, px, ok);
    return bandPath(top, bottom, py, s.style);
  }
  if (s.kind === "points") {
    const r = last - first > 1200 ? 0.9 : last - first > 250 ? 1.3 : 2.4;
    const whiskers = new SvgPath();
    let lastKey = "";
    for (let i = first; i <= last; i++) {
      const v = s.y[i];
      if (!ok(v) || x[i]! < low || x[i]! > high) continue;
      const cx = px(x[i]!);
      const cy = py(v);
      const key = `${n1(cx)},${n1(cy)}`;
      if (key === lastKey) continue;
      lastKey = key;
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
    const { top, bottom } = envelopeOfColumns(x, s.y, s.y, first, last, column, columns, px, ok);
    let open = false;
    top.forEach(([cx, hi], i) => {
      const lo = bottom[i]![1];
      if (Number.isNaN(hi)) {
        open = false;
        return;
      }
      if (open) path.lineTo(cx, py(lo));
      else path.moveTo(cx, py(lo));
      path.lineTo(cx, py(hi));
      open = true;
    });
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

type Corner = readonly [x: number, y: number];

/** Smallest and largest value of each pixel column; a gap in the data becomes a NaN column. */
function envelopeOfColumns(
  x: Float64Array,
  lows: Values,
  highs: Values,
  first: number,
  last: number,
  width: number,
  columns: number,
  px: (v: number) => number,
  ok: (v: number | null | undefined) => boolean,
): { top: Corner[]; bottom: Corner[] } {
  const top: Corner[] = [];
  const bottom: Corner[] = [];
  const sparse = last - first <= columns;
  let column = Number.NaN; // where the open column stands
  let lo = Number.NaN;
  let hi = Number.NaN;
  const flush = (): void => {
    if (Number.isNaN(column)) return;
    top.push([column, hi]);
    bottom.push([column, lo]);
  };
  for (let i = first; i <= last; i++) {
    const at = sparse ? px(x[i]!) : Math.round(px(x[i]!) / width) * width;
    const known = ok(lows[i]) && ok(highs[i]);
    if (at !== column) {
      flush();
      column = at;
      lo = known ? (lows[i] as number) : Number.NaN;
      hi = known ? (highs[i] as number) : Number.NaN;
    } else if (known) {
      lo = Number.isNaN(lo) ? (lows[i] as number) : Math.min(lo, lows[i] as number);
      hi = Number.isNaN(hi) ? (highs[i] as number) : Math.max(hi, highs[i] as number);
    }
  }
  flush();
  return { top, bottom };
}

function bandPath(top: Corner[], bottom: Corner[], py: (v: number) => number, style: string): string {
  const path = new SvgPath();
  let i = 0;
  while (i < top.length) {
    if (Number.isNaN(top[i]![1])) {
      i++;
      continue;
    }
    let end = i;
    while (end + 1 < top.length && !Number.isNaN(top[end + 1]![1])) end++;
    path.moveTo(top[i]![0], py(top[i]![1]));
    for (let k = i + 1; k <= end; k++) path.lineTo(top[k]![0], py(top[k]![1]));
    for (let k = end; k >= i; k--) path.lineTo(bottom[k]![0], py(bottom[k]![1]));
    path.close();
    i = end + 1;
  }
  return `<path class="area ${style}" d="${path}"/>`;
}

/** How many rows of labels the marks need above the frame. */
function labelRows(marks: readonly MarkSpec[]): number {
  return Math.min(3, marks.filter((m) => m.label !== "").length);
}

/** Marks: a stem from the label above the frame down to the point or to the axis; crowded labels go to the next row, or are left to the table. */
function drawMarks(
  marks: readonly MarkSpec[],
  [xLow, xHigh]: Extent,
  [yLow, yHigh]: Extent,
  px: (v: number) => number,
  py: (v: number) => number,
  box: Box,
): string {
  const rowEnds = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const rows = labelRows(marks);
  let stems = "";
  let out = "";
  for (const m of [...marks].sort((a, b) => a.x - b.x)) {
    if (m.x < xLow || m.x > xHigh) continue;
    const cx = px(m.x);
    const wide = m.label.length * 6.2 + 4;
    const centre = Math.min(box.right - wide / 2 + 8, Math.max(box.left + wide / 2 - 20, cx));
    const row = m.label === "" ? -1 : rowEnds.findIndex((end, i) => i < rows && centre - wide / 2 > end);
    const inside = m.y !== undefined && m.y >= yLow && m.y <= yHigh;
    if (row >= 0) {
      rowEnds[row] = centre + wide / 2;
      const baseline = box.top - 3 - 13 * row;
      out += `<text class="mark-label" x="${n1(centre)}" y="${n1(baseline)}" text-anchor="middle">${text(m.label)}</text>`;
    }
    if (inside) {
      const cy = py(m.y as number);
      stems += `M${n1(cx)} ${box.top}V${n1(Math.max(box.top, cy - 5))}`;
      out += `<path class="mark" d="M${n1(cx - 4)} ${n1(cy)}l4 -4l4 4l-4 4z"/>`;
    } else stems += `M${n1(cx)} ${box.top}V${box.top + 9}`;
  }
  return `<path class="mark" stroke-dasharray="2 2" d="${stems}"/>${out}`;
}

/** The key as text lines of an exported drawing. */
function keyLines(spec: FigureSpec, width: number): string[] {
  const line = { main: "solid line", second: "dashed line", third: "dotted line", reference: "grey line" } as const;
  const point = { main: "squares", second: "diamonds", third: "crosses", reference: "grey squares" } as const;
  const look = (s: SeriesSpec): string => {
    if (s.kind === "points") return point[s.style];
    if (s.kind === "band") return s.style === "reference" ? "grey band" : "band";
    return s.kind === "bars" ? "bars" : line[s.style];
  };
  const entries = spec.series.map((s) => `${s.name}: ${look(s)}`);
  if ((spec.hatched ?? []).length > 0)
    entries.push(`hatched: ${[...new Set((spec.hatched ?? []).map((h) => h.label))].join(", ")}`);
  return wrap(entries.join(" · "), Math.floor((width - 24) / 6.4));
}

function wrap(sentence: string, columns: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of sentence.split(" ")) {
    if (line !== "" && line.length + 1 + word.length > columns) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  if (line !== "") lines.push(line);
  return lines;
}
