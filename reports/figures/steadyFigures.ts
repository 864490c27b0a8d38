import type { CaptureScore } from "../../lib/session.ts";
import { normalCdf } from "../../lib/signal/normal.ts";
import type { FigureEntry } from "../figure.ts";
import type { SeriesSpec } from "../figureSpec.ts";
import { counted, plain, prefixFor, toPlace } from "../number.ts";
import { figureId } from "./captureFigure.ts";

/** Which codes a steady input gave, against what Gaussian noise of the size found would give. */
export function steadyHistogramFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { steady } = capture.curves;
  if (steady === undefined || steady.counts.length === 0) return null;
  const counts = [...steady.counts].sort((a, b) => a.code - b.code);
  const total = counts.reduce((sum, c) => sum + c.count, 0);
  if (total < 2) return null;
  const most = counts.reduce((a, c) => (c.count > a.count ? c : a));
  const sigma = capture.figures.noiseRms?.value ?? null;
  const mean = capture.figures.meanCode?.value ?? null;
  const series: SeriesSpec[] = [
    {
      kind: "bars",
      name: "counted",
      style: "main",
      x: counts.map((c) => c.code),
      y: counts.map((c) => c.count),
    },
  ];
  if (sigma !== null && sigma > 0 && mean !== null && counts.length > 1) {
    const from = Math.max(counts[0]!.code - 2, Math.floor(mean - 4 * sigma) - 1);
    const to = Math.min(counts.at(-1)!.code + 2, Math.ceil(mean + 4 * sigma) + 1);
    const codes = Array.from({ length: Math.min(4000, to - from + 1) }, (_, i) => from + i);
    series.push({
      kind: "points",
      name: "Gaussian noise of this size would give",
      style: "second",
      x: codes,
      y: codes.map((k) => total * (normalCdf((k + 0.5 - mean) / sigma) - normalCdf((k - 0.5 - mean) / sigma))),
    });
  }
  const share = (100 * most.count) / total;
  const caption =
    counts.length === 1
      ? `All ${counted(total, "reading")} gave code ${counted(most.code)}: the noise is too small to be seen through the code's width.`
      : `${counted(counts.length)} different codes in ${counted(total, "reading")}; ${plain(share, 3)} % gave code ${counted(most.code)}.${
          sigma !== null && sigma < 0.3
            ? " The noise is well below one code, so it shows only as how often a neighbour comes."
            : sigma === null
              ? ""
              : " Bars that stand away from the diamonds are uneven code widths or noise that is not Gaussian."
        }`;
  return {
    spec: {
      id: figureId("steady", index),
      title: `Codes at a steady input: ${capture.spec.name}`,
      caption,
      x: { quantity: "code", unit: "", whole: true, range: [counts[0]!.code - 1.5, counts.at(-1)!.code + 1.5] },
      y: { quantity: "readings", unit: "", range: [0, most.count * 1.1] },
      series,
    },
    table:
      counts.length > 60
        ? null
        : {
            caption: `How often each code came in ${capture.spec.name}`,
            columns: [
              { head: "code", align: "number" },
              { head: "readings", align: "number" },
              { head: "share, %", align: "number" },
            ],
            rows: counts.map((c) => [counted(c.code), counted(c.count), toPlace((100 * c.count) / total, 2)]),
          },
  };
}

/** The course of a steady input: means of blocks, their scatter, and the drift line. */
export function steadyCourseFigure(capture: CaptureScore, index: number): FigureEntry | null {
  const { steady } = capture.curves;
  if (steady === undefined || steady.blocks.mean.length < 2) return null;
  const { readingsEach, mean, standard } = steady.blocks;
  const { record, figures, spec } = capture;
  const rate = record.sampleRate?.value ?? null;
  const spanReadings = readingsEach * mean.length;
  const { factor, unit } = rate === null ? { factor: 1, unit: "" } : prefixFor(spanReadings / rate, "s");
  const perBlock = rate === null ? readingsEach : readingsEach / rate / factor;
  const x = { from: perBlock / 2, step: perBlock, count: mean.length };
  // A short record is drawn reading by reading: each is what was logged, and an interval about it would say nothing.
  const single = readingsEach === 1;
  const series: SeriesSpec[] = [
    {
      kind: "points",
      name: single ? "code" : `mean of ${counted(readingsEach)} readings, with its interval`,
      style: "main",
      x,
      y: mean,
      ...(!single && {
        low: mean.map((m, i) => m - 1.96 * standard[i]!),
        high: mean.map((m, i) => m + 1.96 * standard[i]!),
      }),
    },
  ];
  const slope = steady.driftPerReading;
  const middle = mean.reduce((a, b) => a + b, 0) / mean.length;
  if (slope !== null) {
    const half = (slope * spanReadings) / 2;
    series.push({
      kind: "line",
      name: "drift line",
      style: "second",
      x: [0, perBlock * mean.length],
      y: [middle - half, middle + half],
    });
  }
  const low = mean.reduce((a, b) => Math.min(a, b));
  const high = mean.reduce((a, b) => Math.max(a, b));
  const drift = figures.drift;
  const moved =
    slope === null
      ? ""
      : ` The drift line moves ${toPlace(slope * spanReadings, 3, true)} LSB over the record${
          drift && drift.low !== null && drift.high !== null
            ? drift.low <= 0 && drift.high >= 0
              ? ", which its uncertainty does not tell from none"
              : ", which is more than its uncertainty"
            : ""
        }.`;
  return {
    spec: {
      id: figureId("course", index),
      title: `Course over the record: ${spec.name}`,
      caption: `${single ? "The readings" : `Means of ${counted(readingsEach)} readings`} lie between ${plain(low, 7)} and ${plain(high, 7)}, a span of ${plain(high - low, 2)} LSB.${moved}`,
      x: rate === null ? { quantity: "reading", unit: "", whole: true } : { quantity: "time", unit },
      y: { quantity: single ? "code" : "mean code", unit: "" },
      series,
    },
    table: {
      caption: `Course of ${spec.name}`,
      columns: [
        { head: rate === null ? "reading" : `time, ${unit}`, align: "number" },
        { head: "mean code", align: "number" },
        { head: "±, about 95 %", align: "number" },
      ],
      rows: [...mean.keys()]
        .filter((i) => i % Math.ceil(mean.length / 24) === 0)
        .map((i) => [plain(x.from + i * x.step, 4), toPlace(mean[i]!, 3), plain(1.96 * standard[i]!, 2)]),
    },
  };
}
