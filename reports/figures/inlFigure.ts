import type { LimitRow } from "../../lib/judge/figure.ts";
import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import { figureId } from "./captureFigure.ts";
import { codeCurve, codeInterval, extremes } from "./codeCurve.ts";
import {
  codeGroup,
  codeTable,
  extremeMarks,
  isKnown,
  limitLines,
  placeText,
  testedText,
  withoutScatter,
} from "./codeFigureParts.ts";
import { untested } from "./untested.ts";

/** How far each transition lies from the straight line. Positive INL means that the converter reads LOW there, and the caption says so. */
export function inlFigure(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "inlMax", "inlMin")) return null;
  const { first, inl, inlU, line } = transitions;
  const { scale } = capture.record;
  const ends = extremes(inl);
  const lineName = line === "endpoint" ? "the straight line through the ends" : "the best-fit straight line";
  return {
    spec: {
      id: figureId("inl", index),
      title: `INL: ${capture.spec.name}`,
      caption:
        ends === null
          ? "No transition was tested, so there is no INL."
          : `The largest INL is ${placeText(first, inl, ends.max, scale.bits)}; the smallest ${placeText(first, inl, ends.min, scale.bits)}; both from ${lineName}.${withoutScatter(capture, "inl", inl, ends)} Where INL is positive the converter reads low.${testedText(transitions, scale.topCode)}`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "INL", unit: "LSB" },
      series: [codeInterval(first, inl, inlU), codeCurve("INL", "main", first, inl)],
      marks: extremeMarks(first, inl, ends, "LSB"),
      limits: limitLines(limits, { inl: 0, inlMax: 1, inlMin: -1 }),
      hatched: untested(inl, first, scale.topCode),
      group: codeGroup(scale),
    },
    table: ends === null ? null : codeTable(`INL of ${capture.spec.name}`, "INL, LSB", first, inl, inlU, ends),
  };
}
