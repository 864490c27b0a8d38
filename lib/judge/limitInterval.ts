import type { LimitMetric } from "../bench/bench.ts";
import { METRICS } from "../bench/metrics.ts";
import { LEVEL, Z95 } from "../signal/coverage.ts";
import { normalQuantile } from "../signal/normal.ts";
import type { Figure, Figures } from "./figure.ts";

/** What a limit is compared with: a figure's interval, or that of a magnitude. */
export interface LimitInterval {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly unit: string;
  /** Width of the interval before any magnitude was taken, Infinity where an end is open: what chooses between captures, because it does not look at the value. */
  readonly width: number;
  /** The figure (for inl and dnl: the end that reaches further) whose budget says what would shrink the interval. */
  readonly figure: Figure;
}

function widthOf(figure: Figure): number {
  return figure.low === null || figure.high === null ? Number.POSITIVE_INFINITY : figure.high - figure.low;
}

function asInterval(figure: Figure): LimitInterval {
  const { value, low, high, unit } = figure;
  return { value, low, high, unit, width: widthOf(figure), figure };
}

/** Interval of |x| where x lies in low…high. */
function magnitude(figure: Figure): LimitInterval {
  const { value, low, high, unit } = figure;
  const reach = low === null || high === null ? null : Math.max(-low, high);
  const near =
    low !== null && low > 0 ? low : high !== null && high < 0 ? -high : low === null && high === null ? null : 0;
  return {
    value: value === null ? null : Math.abs(value),
    low: near,
    high: reach,
    unit,
    width: widthOf(figure),
    figure,
  };
}

// 2.5 % shared between two ends that both may be the larger one.
const JOINT = normalQuantile(1 - (1 - LEVEL) / 4) / Z95;

/**
 * The larger magnitude of a metric's two ends, max(top, −bottom). Its upper end needs no widening: whichever end is truly larger must itself have
 * left its interval for the maximum to do so. Its lower end does where both ends could be the larger: either may have come out too far by chance.
 */
function largerEnd(top: Figure, bottom: Figure): LimitInterval {
  const mirrored = {
    value: bottom.value === null ? null : -bottom.value,
    low: bottom.high === null ? null : -bottom.high,
    high: bottom.low === null ? null : -bottom.low,
  };
  const ends = [top, mirrored];
  const values = ends.flatMap((e) => (e.value === null ? [] : [e.value]));
  const overlap =
    (top.high ?? Infinity) >= (mirrored.low ?? -Infinity) && (mirrored.high ?? Infinity) >= (top.low ?? -Infinity);
  const lows = ends.flatMap((e) =>
    e.low === null ? [] : [e.value === null || !overlap ? e.low : e.value - JOINT * (e.value - e.low)],
  );
  const value = values.length === 2 ? Math.max(0, ...values) : null;
  const low = lows.length === 0 ? null : Math.max(0, ...lows);
  const high = top.high === null || mirrored.high === null ? null : Math.max(0, top.high, mirrored.high);
  const reach = (e: { value: number | null; high: number | null }): number => e.high ?? e.value ?? -Infinity;
  return {
    value,
    low: value === null || low === null ? low : Math.min(low, value),
    high,
    unit: top.unit,
    width: widthOf(top) + widthOf(bottom),
    figure: reach(top) >= reach(mirrored) ? top : bottom,
  };
}

/**
 * The interval that a limit on a metric is compared with. `inl` and `dnl` are the larger magnitude of both ends; errors with a sign (offset, gain,
 * drift) are compared by magnitude, except that a minimum below zero asks for the signed value.
 * @returns null when the capture does not say anything about the metric (not even why not)
 */
export function limitInterval(
  figures: Figures,
  metric: LimitMetric,
  bound: "min" | "max",
  limit: number,
): LimitInterval | null {
  if (metric === "inl" || metric === "dnl") {
    const top = figures[metric === "inl" ? "inlMax" : "dnlMax"];
    const bottom = figures[metric === "inl" ? "inlMin" : "dnlMin"];
    return top === undefined || bottom === undefined ? null : largerEnd(top, bottom);
  }
  const figure = figures[metric];
  if (figure === undefined) return null;
  const signed = METRICS[metric].worse !== "magnitude" || (bound === "min" && limit < 0);
  return signed ? asInterval(figure) : magnitude(figure);
}

/** Whether an interval says anything at all: a value, or a bound on one side. */
export function isDetermined(interval: LimitInterval): boolean {
  return interval.value !== null || interval.figure.low !== null || interval.figure.high !== null;
}
