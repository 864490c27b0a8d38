import { axisTitle, type Extent, tickLabels, ticks, type View, xExtent, yExtent } from "./figureScale.ts";
import type { FigureSpec, SeriesSpec } from "./figureSpec.ts";
import { positionsOf } from "./packedFigure.ts";
import { drawMarks, labelRows } from "./svgMarks.ts";
import { type Box, seriesPath } from "./svgSeries.ts";
import { PAPER_INKS, svgStyle } from "./svgStyle.ts";
import { n1, svgText } from "./svgText.ts";

export interface SvgOptions {
  readonly width: number;
  readonly height: number;
  readonly view?: View;
  /** A file of its own: title, key, caption, style and a background are drawn in. */
  readonly standalone?: boolean;
}

/** Where a value falls in pixels. */
function projector([low, high]: Extent, from: number, to: number, log: boolean): (v: number) => number {
  if (log) {
    const a = Math.log(low);
    const b = Math.log(high);
    return (v) => from + ((Math.log(v) - a) / (b - a || 1)) * (to - from);
  }
  const span = high - low || 1;
  const pixels = to - from;
  return (v) => from + ((v - low) / span) * pixels;
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
  const placed: FigureSpec = { ...spec, series: spec.series.map((s) => ({ ...s, x: positionsOf(s.x) })) };
  const ys = options.view?.y ?? yExtent(placed, xs, yLog);
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
    `<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 ${width} ${height}"${standalone ? ` width="${width}" height="${height}"` : ""} role="img" aria-label="${svgText(`${spec.title}. ${spec.caption}`)}">`,
    standalone ? `<style>${svgStyle(PAPER_INKS)}</style><rect class="backing" width="100%" height="100%"/>` : "",
    standalone ? `<text class="title" x="12" y="22">${svgText(spec.title)}</text>` : "",
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
    `<text x="${(box.left + box.right) / 2}" y="${box.bottom + 33}" text-anchor="middle">${svgText(axisTitle(spec.x))}</text>`,
    `<text transform="translate(13 ${(box.top + box.bottom) / 2}) rotate(-90)" text-anchor="middle">${svgText(axisTitle(spec.y))}</text>`,
    `<g clip-path="url(#${clip})">`,
  );
  for (const r of spec.hatched ?? []) {
    const a = Math.max(box.left, px(Math.max(r.from, xLog ? xs[0] : r.from)));
    const b = Math.min(box.right, px(r.to));
    if (b > box.left && a < box.right)
      out.push(
        `<rect x="${n1(a)}" y="${box.top}" width="${n1(Math.max(1, b - a))}" height="${box.bottom - box.top}" fill="url(#${hatch})"><title>${svgText(r.label)}</title></rect>`,
      );
  }
  for (const s of placed.series)
    out.push(seriesPath(s, xs, px, py, box, { xLog, yLog, column: standalone ? 0.5 : 1.7 }));
  for (const l of spec.limits ?? []) out.push(`<path class="limit" d="M${box.left} ${n1(py(l.y))}H${box.right}"/>`);
  out.push("</g>");
  for (const l of spec.limits ?? []) {
    const y = py(l.y);
    if (y < box.top - 1 || y > box.bottom + 1) continue;
    const above = y - 4 > box.top + 8 ? y - 4 : y + 13;
    out.push(
      `<text class="limit-label" x="${box.right - 4}" y="${n1(above)}" text-anchor="end">${svgText(l.label)}</text>`,
    );
  }
  out.push(drawMarks(spec.marks ?? [], xs, ys, px, py, box));
  out.push(
    `<rect class="frame" x="${box.left}" y="${box.top}" width="${box.right - box.left}" height="${box.bottom - box.top}"/>`,
  );
  let y = titleHeight + options.height + 14;
  for (const line of [...key, ...captionLines]) {
    out.push(`<text class="caption" x="12" y="${y}">${svgText(line)}</text>`);
    y += 17;
  }
  out.push("</svg>");
  return out.join("");
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
