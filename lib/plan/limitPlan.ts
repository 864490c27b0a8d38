import type { Bench, CaptureSpec, Limit, LimitMetric } from "../bench/bench.ts";
import { unitOfMetric } from "../bench/metricValue.ts";
import type { Hertz, Lsb, Seconds } from "../bench/units.ts";
import { judgingCapture, metricFamily, PER_CODE } from "./judgingCapture.ts";
import { limitReadings } from "./limitReadings.ts";
import { type SourceReach, sourceReach } from "./sourceReach.ts";

/** What deciding one limit takes from one capture. */
export interface LimitPlan {
  readonly metric: LimitMetric;
  readonly bound: "min" | "max";
  readonly limit: number;
  readonly unit: string;
  /** The capture that would judge it; null when none of the bench file's captures can. */
  readonly capture: string | null;
  /** ± that the readings aim at, in the metric's unit; null where readings are not what matters. */
  readonly tolerance: number | null;
  readonly readings: number | null;
  readonly time: Seconds | null;
  /** How the number of readings was got. */
  readonly method: string;
  readonly source: SourceReach | null;
}

export interface LimitPlanOptions {
  /** ± aimed at for LSB metrics; null: a tenth of the limit. */
  readonly tolerance: Lsb | null;
  readonly confidence: number;
  readonly noise: Lsb;
  readonly rateOf: (spec: CaptureSpec) => Hertz | null;
}

/** What each limit of the bench file takes; one entry a bound. */
export function limitPlans(bench: Bench, options: LimitPlanOptions): LimitPlan[] {
  return bench.limits.flatMap((limit) =>
    (["min", "max"] as const).flatMap((bound) => {
      const value = limit[bound];
      if (value === null) return [];
      const spec = judgingCapture(bench.captures, limit);
      return [planOne(limit, bound, value, spec, bench, options)];
    }),
  );
}

function planOne(
  limit: Limit,
  bound: "min" | "max",
  value: number,
  spec: CaptureSpec | null,
  bench: Bench,
  options: LimitPlanOptions,
): LimitPlan {
  const { metric } = limit;
  const base = { metric, bound, limit: value, unit: unitOfMetric(metric), capture: spec?.name ?? null };
  if (spec === null)
    return { ...base, tolerance: null, readings: null, time: null, source: null, method: whatItNeeds(limit) };
  const need = limitReadings(metric, value, spec, bench, options);
  const rate = options.rateOf(spec);
  return {
    ...base,
    ...need,
    time: need.readings === null || rate === null ? null : need.readings / rate,
    source: sourceReach(limit, spec),
  };
}

function whatItNeeds(limit: Limit): string {
  if (limit.capture !== null) return `capture ${limit.capture}, which the limit names, does not show it`;
  switch (metricFamily(limit)) {
    case "tone":
      return "no capture shows it: add one with a sine (--write does)";
    case "noise":
      return "no capture shows it: add one with a steady voltage (--write does)";
    case "static":
      return PER_CODE.has(limit.metric)
        ? "no capture shows it: add an overdriven sine (--write does), a ramp or a triangle"
        : "no capture shows it: add an overdriven sine (--write does), a ramp, a triangle or steps";
    default:
      return "no capture of one stimulus shows it: log two channels of a scan, one of them with a sine";
  }
}
