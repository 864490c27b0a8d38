import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import type { SeriesSpec } from "../figureSpec.ts";
import { counted, plain } from "../number.ts";
import { figureId } from "./captureFigure.ts";
import { codeCurve } from "./codeCurve.ts";
import { codeGroup } from "./codeFigureParts.ts";
import { untested } from "./untested.ts";

/** Counts of every code against what an ideal converter would have counted. */
export function codeHistogramFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { histogram } = capture.curves;
  if (histogram === undefined) return null;
  const { counts, expected } = histogram;
  const { scale } = capture.record;
  let tested = 0;
  let most = 0;
  let empty = 0;
  let expectedCount = 0;
  // On a logarithmic axis a count of none stands at the foot, where it can be seen, not nowhere.
  const floor = 0.5;
  const drawn = new Float64Array(counts.length);
  for (let i = 0; i < counts.length; i++) {
    const count = counts[i]!;
    const ideal = expected[i]!;
    const isTested = Number.isFinite(ideal);
    drawn[i] = count === 0 && !isTested ? Number.NaN : Math.max(count, floor);
    if (!isTested) continue;
    tested++;
    expectedCount += ideal;
    if (count === 0) empty++;
    if (count > counts[most]!) most = i;
  }
  const mean = tested === 0 ? 0 : expectedCount / tested;
  // Below one reading a code the counts are single readings and show nothing about codes.
  if (mean < 1) return null;
  return {
    spec: {
      id: figureId("histogram", index),
      title: `How often each code came: ${capture.spec.name}`,
      caption: `An ideal converter would have counted ${plain(mean, 3)} readings a code on average over the ${counted(tested)} codes that the stimulus passed; code ${counted(most)} came most often, ${counted(counts[most]!, "time")}${empty > 0 ? `, and ${counted(empty, "code")} never (drawn at the foot)` : ""}.`,
      x: { quantity: "code", unit: "", whole: true },
      y: { quantity: "readings", unit: "", log: true },
      series: [codeCurve("counted", "main", 0, drawn), idealCounts(expected)],
      hatched: untested(expected, 0, counts.length - 1).filter((r) => r.to > 0),
      group: codeGroup(scale),
    },
    table: null,
  };
}

/** A ramp's ideal counts are one level: two points say it. A sine's are drawn code by code. */
function idealCounts(expected: Float64Array): SeriesSpec {
  const first = expected.findIndex((v) => Number.isFinite(v));
  const last = expected.findLastIndex((v) => Number.isFinite(v));
  const level = expected[first + 1];
  // The end codes collect what lies beyond the range, so they may differ.
  const isLevel = first >= 0 && expected.subarray(first + 1, last).every((v) => Math.abs(v - level!) < 1e-6 * level!);
  if (!isLevel || last - first < 3) return codeCurve("ideal converter", "second", 0, expected);
  return { kind: "line", name: "ideal converter", style: "second", x: [first + 1, last - 1], y: [level!, level!] };
}
