import type { CaptureSpec, Limit, LimitMetric } from "../bench/bench.ts";
import { sourceReach } from "./sourceReach.ts";

/** Which kind of capture shows a metric. */
export type Family = "tone" | "static" | "noise";

const FAMILY: Readonly<Partial<Record<LimitMetric, Family>>> = {
  offsetError: "static",
  offsetAtLow: "static",
  gainError: "static",
  inl: "static",
  inlMax: "static",
  inlMin: "static",
  dnl: "static",
  dnlMax: "static",
  dnlMin: "static",
  missingCodes: "static",
  totalUnadjustedError: "static",
  hysteresis: "static",
  enob: "tone",
  enobAtLevel: "tone",
  sinad: "tone",
  snr: "tone",
  thd: "tone",
  sfdr: "tone",
  signalLevel: "tone",
  noiseFloor: "tone",
  noiseRms: "noise",
  codeRms: "noise",
  noisePeakToPeak: "noise",
  effectiveResolution: "noise",
  noiseFreeBits: "noise",
  meanCode: "noise",
  drift: "noise",
};

/** Metrics of single codes: they need a histogram; steps give none. */
export const PER_CODE: ReadonlySet<LimitMetric> = new Set(["dnl", "dnlMax", "dnlMin", "missingCodes"]);

/** Which kind of capture shows a limit's metric; null: none of a single stimulus. */
export function metricFamily({ metric }: Pick<Limit, "metric">): Family | null {
  return FAMILY[metric] ?? null;
}

/**
 * The capture that would judge a metric: the one the limit names, else, as score does, the one whose source leaves the smallest interval; among equals one
 * that is made for the purpose, then the first.
 */
export function judgingCapture(captures: readonly CaptureSpec[], limit: Limit): CaptureSpec | null {
  const able = captures.filter((spec) => canShow(spec, limit.metric));
  if (limit.capture !== null) return able.find((spec) => spec.name === limit.capture) ?? null;
  const family = FAMILY[limit.metric];
  const purpose = family === "static" ? "histogram" : family;
  const rank = (spec: CaptureSpec): readonly [number, number] => [
    sourceReach(limit, spec)?.halfWidth ?? 0,
    spec.use?.some((use) => use === purpose) ? 0 : 1,
  ];
  const better = (a: CaptureSpec, b: CaptureSpec): CaptureSpec => {
    const [[widthA, useA], [widthB, useB]] = [rank(a), rank(b)];
    return widthB < widthA || (widthB === widthA && useB < useA) ? b : a;
  };
  return able.length === 0 ? null : able.reduce(better);
}

function canShow(spec: CaptureSpec, metric: LimitMetric): boolean {
  const kind = spec.stimulus?.kind;
  const isFor = (use: "tone" | "histogram" | "noise"): boolean => spec.use === null || spec.use.includes(use);
  switch (FAMILY[metric]) {
    case "tone":
      return kind === "sine" && isFor("tone");
    case "noise":
      return kind === "steady" && isFor("noise");
    case "static": {
      if (kind === "steps") return !PER_CODE.has(metric) && metric !== "offsetAtLow";
      return (kind === "sine" || kind === "ramp" || kind === "triangle") && isFor("histogram");
    }
    default:
      // Crosstalk: a tone on one channel, its neighbours logged in the same scan.
      return kind === "sine" && spec.scan !== null;
  }
}
