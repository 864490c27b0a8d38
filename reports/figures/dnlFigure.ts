import type { LimitRow } from "../../lib/judge/figure.ts";
import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import { counted } from "../number.ts";
import { figureId } from "./captureFigure.ts";
import { codeCurve, codeInterval, extremes } from "./codeCurve.ts";
import {
  codeGroup,
  codeTable,
  extremeMarks,
  isKnown,
  limitLines,
  placeText,
  withoutScatter,
} from "./codeFigureParts.ts";
import { untested } from "./untested.ts";

/** How much wider or narrower than 1 LSB each code is, with the codes that never come. */
export function dnlFigure(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry | null {
  const { transitions } = capture.curves;
  if (transitions === undefined || !isKnown(capture, "dnlMax", "dnlMin")) return null;
  const { first, dnl, dnlU, missing, possiblyMissing } = transitions;
  const { scale } = capture.record;
  const ends = extremes(dnl);
  const missed =
    missing.length > 0
      ? ` ${missing.length === 1 ? "Code" : "Codes"} ${listed(missing)} never ${missing.length === 1 ? "comes" : "come"}.`
      : possiblyMissing.length > 0
        ? ` No code is shown to be missing; the record is too short to tell for ${counted(possiblyMissing.length)}.`
        : " No code is missing among those tested.";
  return {
    spec: {
      id: figureId("dnl", index),
      title: `DNL: ${capture.spec.name}`,
      caption:
        ends === null
          ? "No code was tested on both sides, so there is no DNL."
          : `The widest code has DNL ${placeText(first, dnl, ends.max, scale.bits)}; the narrowest ${placeText(first, dnl, ends.min, scale.bits)}.${withoutScatter(capture, "dnl", dnl, ends)}${missed}`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "DNL", unit: "LSB" },
      series: [codeInterval(first, dnl, dnlU), codeCurve("DNL", "main", first, dnl)],
      marks: [
        ...extremeMarks(first, dnl, ends, "LSB"),
        ...missing
          .slice(0, 20)
          .map((code) => ({ x: code, y: -1, label: `${code} missing`, text: `code ${code} is missing` })),
      ].filter((m, i, all) => all.findIndex((o) => o.x === m.x && o.label.length >= m.label.length) === i),
      limits: limitLines(limits, { dnl: 0, dnlMax: 1, dnlMin: -1 }),
      hatched: untested(dnl.subarray(0, -1), first, scale.topCode - 1),
      group: codeGroup(scale),
    },
    table: ends === null ? null : codeTable(`DNL of ${capture.spec.name}`, "DNL, LSB", first, dnl, dnlU, ends),
  };
}

function listed(codes: readonly number[]): string {
  const shownCodes = codes.slice(0, 8).join(", ");
  return codes.length > 8 ? `${shownCodes} and ${counted(codes.length - 8)} more` : shownCodes;
}
