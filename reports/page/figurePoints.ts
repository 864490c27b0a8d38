import { axisTitle } from "../figureScale.ts";
import type { FigureSpec } from "../figureSpec.ts";
import { positionsOf } from "../packedFigure.ts";
import { csvLine } from "../tableText.ts";

/** Every plotted point of a figure as CSV, one row a point: series, x, y or its two ends. */
export function figurePoints(spec: FigureSpec): string {
  let out = csvLine(["series", axisTitle(spec.x), axisTitle(spec.y), "low", "high"]);
  for (const s of spec.series) {
    const x = positionsOf(s.x);
    for (let i = 0; i < x.length; i++) {
      const y = s.kind === "band" ? null : short(s.y[i]);
      out += csvLine([s.name, short(x[i]), y, short(s.low?.[i]), short(s.high?.[i])]);
    }
  }
  return out;
}

/** Seven digits: as many as the packed columns carry. */
function short(value: number | null | undefined): number | null {
  return value === null || value === undefined || !Number.isFinite(value) ? null : Number(value.toPrecision(7));
}
