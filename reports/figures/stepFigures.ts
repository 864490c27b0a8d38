import { voltageOfCode } from "../../lib/bench/scale.ts";
import type { LimitRow } from "../../lib/judge/figure.ts";
import type { StepCurve } from "../../lib/measure/measurement.ts";
import type { CaptureScore } from "../../lib/session.ts";
import type { FigureEntry } from "../figure.ts";
import type { FigureSpec, SeriesSpec } from "../figureSpec.ts";
import { counted, plain, prefixFor, toPlace } from "../number.ts";
import { figureId } from "./captureFigure.ts";

type Point = StepCurve["points"][number];

/** Known voltages against what was read: the error with nothing corrected, and what is left of it about a straight line. */
export function stepFigures(capture: CaptureScore, limits: readonly LimitRow[], index: number): FigureEntry[] {
  const { steps } = capture.curves;
  if (steps === undefined || steps.points.length === 0) return [];
  const error = errorFigure(capture, steps.points, index);
  // Without an INL that this capture can support there is none to draw.
  const known = [capture.figures.inlMax, capture.figures.inlMin].some((f) => (f?.value ?? null) !== null);
  return known ? [error, inlFigure(capture, steps.points, limits, index)] : [error];
}

function byDirection(
  points: readonly Point[],
  factor: number,
  value: (p: Point) => number | null,
  standard: (p: Point) => number,
): SeriesSpec[] {
  return (["up", "down"] as const).flatMap((direction): SeriesSpec[] => {
    const own = points
      .filter((p) => p.direction === direction && value(p) !== null)
      .sort((a, b) => a.applied - b.applied);
    if (own.length === 0) return [];
    const both = points.some((p) => p.direction === "up") && points.some((p) => p.direction === "down");
    return [
      {
        kind: "points",
        name: both ? (direction === "up" ? "walking up" : "walking down") : "level, with its interval",
        style: direction === "up" ? "main" : "second",
        x: own.map((p) => p.applied / factor),
        y: own.map((p) => value(p)),
        low: own.map((p) => (value(p) as number) - 1.96 * standard(p)),
        high: own.map((p) => (value(p) as number) + 1.96 * standard(p)),
      },
    ];
  });
}

function errorFigure(capture: CaptureScore, points: readonly Point[], index: number): FigureEntry {
  const { scale } = capture.record;
  const { factor, unit } = prefixFor(scale.low + scale.fsr, "V");
  const error = (p: Point): number => (voltageOfCode(scale, p.meanCode) - p.applied) / scale.lsb;
  const usable = points.filter((p) => p.note === null || p.inl !== null);
  const worst = (usable.length > 0 ? usable : points).reduce((a, p) =>
    Math.abs(error(p)) > Math.abs(error(a)) ? p : a,
  );
  const settled = Math.max(...points.map((p) => p.settling));
  const spec: FigureSpec = {
    id: figureId("step-error", index),
    title: `Reading error at known voltages: ${capture.spec.name}`,
    caption: `${counted(new Set(points.map((p) => p.applied)).size, "level")} in ${counted(points.length, "visit")}; with nothing corrected the largest error is ${toPlace(error(worst), 2, true)} LSB at ${plain(worst.applied / factor, 5)} ${unit} (positive reads too high).${
      settled > 0 ? ` Up to ${counted(settled, "reading")} after a change of level were left out as settling.` : ""
    }`,
    x: { quantity: "applied at the pin", unit },
    y: { quantity: "reads too high by", unit: "LSB" },
    series: byDirection(points, factor, error, (p) => p.standard),
    group: figureId("steps", index),
  };
  return {
    spec,
    table: {
      caption: `Levels of ${capture.spec.name}`,
      columns: [
        { head: `applied, ${unit}`, align: "number" },
        { head: "direction" },
        { head: "readings", align: "number" },
        { head: "left out", align: "number" },
        { head: "mean code", align: "number" },
        { head: "±, about 95 %", align: "number" },
        { head: "reads too high by, LSB", align: "number" },
        { head: "INL, LSB", align: "number" },
        { head: "remark" },
      ],
      rows: points.map((p) => [
        plain(p.applied / factor, 7),
        p.direction,
        counted(p.readings),
        counted(p.settling),
        toPlace(p.meanCode, 3),
        plain(1.96 * p.standard, 2),
        toPlace(error(p), 3, true),
        p.inl === null ? "–" : toPlace(p.inl, 3, true),
        p.note ?? "",
      ]),
    },
  };
}

function inlFigure(
  capture: CaptureScore,
  points: readonly Point[],
  limits: readonly LimitRow[],
  index: number,
): FigureEntry {
  const { scale } = capture.record;
  const { factor, unit } = prefixFor(scale.low + scale.fsr, "V");
  const measured = points.filter((p) => p.inl !== null);
  const worst = measured.reduce<Point | null>(
    (a, p) => (a === null || Math.abs(p.inl as number) > Math.abs(a.inl as number) ? p : a),
    null,
  );
  const inlLimits = limits.filter((l) => l.metric === "inl");
  return {
    spec: {
      id: figureId("step-inl", index),
      title: `INL at known voltages: ${capture.spec.name}`,
      caption:
        worst === null
          ? "No level could be used, so there is no INL."
          : `About the ${capture.spec.converter.line === "endpoint" ? "line through the outermost levels" : "best-fit line"} the furthest level is ${plain(worst.applied / factor, 5)} ${unit}, INL ${toPlace(worst.inl as number, 2, true)} LSB. Where INL is positive the converter reads low. Between the levels nothing was tested.`,
      x: { quantity: "applied at the pin", unit },
      y: { quantity: "INL", unit: "LSB" },
      series: byDirection(
        points,
        factor,
        (p) => p.inl,
        (p) => p.standard,
      ),
      limits: inlLimits.flatMap((l) => [
        { y: l.limit, label: `limit ${plain(l.limit)} LSB` },
        { y: -l.limit, label: `limit −${plain(l.limit)} LSB` },
      ]),
      group: figureId("steps", index),
    },
    table: null,
  };
}
