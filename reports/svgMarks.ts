import type { Extent } from "./figureScale.ts";
import type { MarkSpec } from "./figureSpec.ts";
import type { Box } from "./svgSeries.ts";
import { n1, svgText } from "./svgText.ts";

/** How many rows of labels the marks need above the frame. */
export function labelRows(marks: readonly MarkSpec[]): number {
  return Math.min(3, marks.filter((m) => m.label !== "").length);
}

/** Marks: a stem from the label above the frame down to the point or to the axis; crowded labels go to the next row, or are left to the table. */
export function drawMarks(
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
      out += `<text class="mark-label" x="${n1(centre)}" y="${n1(baseline)}" text-anchor="middle">${svgText(m.label)}</text>`;
    }
    if (inside) {
      const cy = py(m.y as number);
      stems += `M${n1(cx)} ${box.top}V${n1(Math.max(box.top, cy - 5))}`;
      out += `<path class="mark" d="M${n1(cx - 4)} ${n1(cy)}l4 -4l4 4l-4 4z"/>`;
    } else stems += `M${n1(cx)} ${box.top}V${box.top + 9}`;
  }
  return `<path class="mark" stroke-dasharray="2 2" d="${stems}"/>${out}`;
}
