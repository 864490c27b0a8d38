import { idealTransition } from "../../lib/bench/scale.ts";
import type { LimitRow } from "../../lib/judge/figure.ts";
import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import { prefixFor, quantity, toPlace } from "../number.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";
import { codeCurve, extremes } from "./codeCurve.ts";
import { codeTable, isKnown, limitLines } from "./codeFigureParts.ts";
import { untested } from "./untested.ts";

/** What the converter reads too much at each input, nothing corrected. Only where the stimulus is known in volts. */
export function readingErrorFigure(
  capture: CaptureScore,
  limits: readonly LimitRow[],
  index: number,
): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "totalUnadjustedError")) return null;
  const { scale } = capture.record;
  const { first, volts } = transitions;
  const error = new Float64Array(volts.length);
  for (let i = 0; i < error.length; i++) error[i] = (idealTransition(scale, first + i) - volts[i]!) / scale.lsb;
  const ends = extremes(error);
  if (ends === null) return null;
  const { factor, unit } = prefixFor(scale.low + scale.fsr, "V");
  const curve = codeCurve("reads too high by", "main", 0, error, COLUMNS);
  // Placed at the ideal transition: within the error itself of the true input, which no plot shows.
  const at = (i: number): number => idealTransition(scale, first + i) / factor;
  const x =
    "count" in curve.x
      ? { from: at(curve.x.from), step: (curve.x.step * scale.lsb) / factor, count: curve.x.count }
      : [];
  const where = (i: number): string =>
    `${toPlace(Math.abs(error[i]!), 2)} LSB too ${error[i]! < 0 ? "low" : "high"} near ${quantity(volts[i]!, "V", 4)}`;
  return {
    spec: {
      id: figureId("error", index),
      title: `Reading error over the input: ${capture.spec.name}`,
      caption: `With nothing corrected the converter reads between ${where(ends.max)} and ${where(ends.min)}. Offset lifts this curve, gain error tilts it, INL bends it.`,
      x: { quantity: "input at the pin", unit },
      y: { quantity: "reads too high by", unit: "LSB" },
      series: [{ ...curve, x }],
      limits: limitLines(limits, { totalUnadjustedError: 0 }),
      hatched: untested(error, first, scale.topCode).map((r) => ({
        ...r,
        from: idealTransition(scale, r.from) / factor,
        to: idealTransition(scale, r.to) / factor,
      })),
      group: `input-${scale.low}-${scale.fsr}`,
    },
    table: codeTable(`Reading error of ${capture.spec.name}`, "reads too high by, LSB", first, error, null, ends),
  };
}
