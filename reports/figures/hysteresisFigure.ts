import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import { counted, shownText, toPlace } from "../number.ts";
import { COLUMNS, figureId } from "./captureFigure.ts";
import { codeCurve, extremes } from "./codeCurve.ts";
import { codeGroup, codeTable, isKnown } from "./codeFigureParts.ts";
import { untested } from "./untested.ts";

/** Both directions of a triangle or sine. */
export function hysteresisFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  const difference = transitions?.hysteresis;
  if (transitions === undefined || difference === undefined || !isKnown(capture, "hysteresis")) return null;
  const ends = extremes(difference);
  if (ends === null) return null;
  const { scale } = capture.record;
  const value = capture.figures.hysteresis?.value ?? null;
  const furthest = Math.abs(difference[ends.max]!) >= Math.abs(difference[ends.min]!) ? ends.max : ends.min;
  return {
    spec: {
      id: figureId("hysteresis", index),
      title: `Rising against falling: ${capture.spec.name}`,
      caption: `The same transition met from below and from above lies up to ${toPlace(Math.abs(difference[furthest]!), 2)} LSB apart, at code ${counted(transitions.first + furthest)}${value === null ? "" : `; with this record's own scatter taken out, hysteresis is ${shownText(capture.figures.hysteresis!)}`}.`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "rising minus falling", unit: "LSB" },
      series: [codeCurve("rising minus falling", "main", transitions.first, difference, COLUMNS)],
      hatched: untested(difference, transitions.first, scale.topCode),
      group: codeGroup(scale),
    },
    table: codeTable(
      `Hysteresis of ${capture.spec.name}`,
      "difference, LSB",
      transitions.first,
      difference,
      null,
      ends,
    ),
  };
}
