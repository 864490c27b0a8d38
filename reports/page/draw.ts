import uPlot from "uplot";
import type { FigureSpec, SeriesSpec, Values } from "../figureSpec.ts";
import { positionsOf } from "../packedFigure.ts";

/** A colour of the page as it is now, light or dark. */
export function ink(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim() || "#000";
}

/** Below the curves: stretches that were not tested. */
export function drawUnder(u: uPlot, spec: FigureSpec): void {
  const { ctx, bbox } = u;
  const scale = uPlot.pxRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.strokeStyle = ink("--soft");
  ctx.globalAlpha = 0.6;
  ctx.lineWidth = scale;
  for (const r of spec.hatched ?? []) {
    const a = Math.max(bbox.left, u.valToPos(r.from, "x", true));
    const b = Math.min(bbox.left + bbox.width, u.valToPos(r.to, "x", true));
    if (!(b >= a)) continue;
    ctx.save();
    ctx.beginPath();
    ctx.rect(a, bbox.top, Math.max(scale, b - a), bbox.height);
    ctx.clip();
    ctx.beginPath();
    const start = Math.floor((a - bbox.height) / (7 * scale)) * 7 * scale;
    for (let x = start; x < b; x += 7 * scale) {
      ctx.moveTo(x, bbox.top + bbox.height);
      ctx.lineTo(x + bbox.height, bbox.top);
    }
    ctx.stroke();
    ctx.restore();
  }
  ctx.restore();
}

/** Above the curves: whiskers, limits with their names, marks with theirs. */
export function drawOver(u: uPlot, spec: FigureSpec): void {
  const { ctx, bbox } = u;
  const scale = uPlot.pxRatio;
  const right = bbox.left + bbox.width;
  const inY = (y: number): boolean => y >= bbox.top - 1 && y <= bbox.top + bbox.height + 1;
  ctx.save();
  ctx.lineWidth = scale;
  ctx.setLineDash([]);
  ctx.strokeStyle = ink("--soft");
  ctx.strokeRect(bbox.left, bbox.top, bbox.width, bbox.height);
  for (const s of spec.series) if (s.kind === "points") drawPoints(u, s, scale);
  ctx.font = `${11.5 * scale}px system-ui, "Segoe UI", "DejaVu Sans", sans-serif`;
  for (const l of spec.limits ?? []) {
    const y = u.valToPos(l.y, "y", true);
    if (!inY(y)) continue;
    ctx.strokeStyle = ink("--limit");
    ctx.fillStyle = ink("--limit");
    ctx.lineWidth = 1.3 * scale;
    ctx.setLineDash([10 * scale, 4 * scale]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(right, y);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.textAlign = "right";
    ctx.textBaseline = "alphabetic";
    const baseline = y - 4 * scale > bbox.top + 8 * scale ? y - 4 * scale : y + 13 * scale;
    // A rim of paper keeps the name legible where it crosses the curve.
    ctx.strokeStyle = ink("--paper");
    ctx.lineWidth = 3 * scale;
    ctx.strokeText(l.label, right - 4 * scale, baseline);
    ctx.fillText(l.label, right - 4 * scale, baseline);
  }
  drawMarks(u, spec, scale);
  if (document.body.dataset.simulated) {
    // At the left: the limits' names stand at the right.
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    ctx.lineWidth = 3 * scale;
    ctx.strokeStyle = ink("--paper");
    ctx.fillStyle = ink("--soft");
    ctx.strokeText("simulated data", bbox.left + 4 * scale, bbox.top + bbox.height - 5 * scale);
    ctx.fillText("simulated data", bbox.left + 4 * scale, bbox.top + bbox.height - 5 * scale);
  }
  ctx.restore();
}

/** Points in the shape of their style, with whiskers where they have an interval. */
function drawPoints(u: uPlot, s: Extract<SeriesSpec, { y: Values }>, scale: number): void {
  const { ctx, bbox } = u;
  const xs = positionsOf(s.x);
  const r = (xs.length > 1200 ? 1 : xs.length > 250 ? 1.5 : 2.5) * scale;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left - r, bbox.top - r, bbox.width + 2 * r, bbox.height + 2 * r);
  ctx.clip();
  ctx.strokeStyle = ink(s.style === "reference" ? "--soft" : `--${s.style}`);
  ctx.fillStyle = ctx.strokeStyle;
  ctx.lineWidth = 1.3 * scale;
  ctx.beginPath();
  for (let i = 0; i < xs.length; i++) {
    const v = s.y[i];
    const x = u.valToPos(xs[i]!, "x", true);
    if (v === null || !Number.isFinite(v) || x < bbox.left - 1 || x > bbox.left + bbox.width + 1) continue;
    const y = u.valToPos(v as number, "y", true);
    if (s.style === "second") {
      ctx.moveTo(x - 1.6 * r, y);
      ctx.lineTo(x, y - 1.6 * r);
      ctx.lineTo(x + 1.6 * r, y);
      ctx.lineTo(x, y + 1.6 * r);
      ctx.closePath();
    } else if (s.style === "third") {
      ctx.moveTo(x - 1.5 * r, y);
      ctx.lineTo(x + 1.5 * r, y);
      ctx.moveTo(x, y - 1.5 * r);
      ctx.lineTo(x, y + 1.5 * r);
    } else ctx.fillRect(x - r, y - r, 2 * r, 2 * r);
    const [lo, hi] = [s.low?.[i], s.high?.[i]];
    if (!Number.isFinite(lo) || !Number.isFinite(hi)) continue;
    ctx.moveTo(x, u.valToPos(lo as number, "y", true));
    ctx.lineTo(x, u.valToPos(hi as number, "y", true));
  }
  ctx.stroke();
  ctx.restore();
}

function drawMarks(u: uPlot, spec: FigureSpec, scale: number): void {
  const { ctx, bbox } = u;
  const marks = [...(spec.marks ?? [])].sort((a, b) => a.x - b.x);
  const rows = Math.min(3, marks.filter((m) => m.label !== "").length);
  const ends = [-1e9, -1e9, -1e9];
  ctx.strokeStyle = ink("--ink");
  ctx.fillStyle = ink("--ink");
  ctx.lineWidth = scale;
  ctx.textBaseline = "alphabetic";
  ctx.textAlign = "center";
  for (const m of marks) {
    const x = u.valToPos(m.x, "x", true);
    if (!(x >= bbox.left - 1 && x <= bbox.left + bbox.width + 1)) continue;
    const wide = ctx.measureText(m.label).width + 5 * scale;
    const centre = Math.min(bbox.left + bbox.width - wide / 2 + 10 * scale, Math.max(wide / 2, x));
    const row = m.label === "" ? -1 : ends.findIndex((end, i) => i < rows && centre - wide / 2 > end);
    if (row >= 0) {
      ends[row] = centre + wide / 2;
      ctx.fillText(m.label, centre, bbox.top - (3 + 13 * row) * scale);
    }
    const y = m.y === undefined ? Number.NaN : u.valToPos(m.y, "y", true);
    ctx.setLineDash([2 * scale, 2 * scale]);
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, y >= bbox.top && y <= bbox.top + bbox.height ? y - 4 * scale : bbox.top + 9 * scale);
    ctx.stroke();
    ctx.setLineDash([]);
    if (!(y >= bbox.top && y <= bbox.top + bbox.height)) continue;
    ctx.beginPath();
    ctx.moveTo(x - 4 * scale, y);
    ctx.lineTo(x, y - 4 * scale);
    ctx.lineTo(x + 4 * scale, y);
    ctx.lineTo(x, y + 4 * scale);
    ctx.closePath();
    ctx.stroke();
  }
}
