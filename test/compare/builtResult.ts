import { METRICS, type MetricName } from "../../lib/bench/metrics.ts";
import { scaleOf } from "../../lib/bench/scale.ts";
import type { Result, ResultCapture, ResultConverter, ResultFigure } from "../../lib/result.ts";

/** A figure built by hand: value ± half-width, with source limits where a test needs them. */
export function figure(
  metric: MetricName,
  value: number | null,
  halfWidth: number | null,
  more: Partial<ResultFigure> & { limits?: Record<string, number>; record?: number } = {},
): ResultFigure {
  const { limits = {}, record, ...rest } = more;
  return {
    value,
    low: value === null || halfWidth === null ? null : value - halfWidth,
    high: value === null || halfWidth === null ? null : value + halfWidth,
    uncertainty: value === null ? null : halfWidth,
    unit: METRICS[metric].unit,
    method: "built by hand",
    budget: {
      parts: [
        ...(record === undefined ? [] : [{ from: "noise", kind: "record" as const, halfWidth: record }]),
        ...Object.entries(limits).map(([from, width]) => ({ from, kind: "limit" as const, halfWidth: width })),
      ],
      advice: "",
    },
    ...rest,
  };
}

export function converter(
  more: {
    bits?: number;
    low?: number;
    high?: number;
    firstTransition?: number;
    coding?: string;
    line?: "endpoint" | "best-fit";
    readingTime?: number | null;
    averaging?: { readings: number; shift: number } | null;
  } = {},
): ResultConverter {
  const { bits = 12, low = 0, high = 4.096, firstTransition = 0.5, coding = "binary", line = "endpoint" } = more;
  const averaging = more.averaging ?? null;
  const scale = scaleOf({ bits, low, high, firstTransition, averaging });
  return {
    bits,
    low,
    high,
    coding,
    firstTransition,
    line,
    scale: { bits: scale.bits, lsb: scale.lsb, firstTransition: scale.firstTransition, topCode: scale.topCode },
    averaging,
    readingTime: more.readingTime ?? null,
  };
}

export function capture(name: string, more: Partial<ResultCapture> = {}): ResultCapture {
  return {
    name,
    file: `${name}.csv`,
    sha256: "0".repeat(64),
    readings: 4096,
    channel: "adc0",
    conditions: {},
    converter: converter(),
    stimulus: { kind: "sine", frequency: 997, amplitude: 2, offset: 2.048 },
    log: { dialect: "one column of decimal codes", lines: 4096, skipped: [] },
    sampleRate: null,
    fit: null,
    metrics: {},
    findings: [],
    harmonics: [],
    transitions: null,
    steps: null,
    ...more,
  };
}

export function result(
  captures: readonly ResultCapture[],
  more: {
    title?: string;
    written?: string | null;
    conditions?: Record<string, string>;
    allow?: Record<string, number>;
  } = {},
): Result {
  return {
    schema: "codestair-result/1",
    tool: { name: "codestair", version: "0.1.0" },
    written: more.written ?? null,
    bench: {
      title: more.title ?? "River gauge logger",
      conditions: more.conditions ?? {},
      converter: captures[0]?.converter ?? converter(),
      decision: "guarded",
      allow: more.allow ?? {},
    },
    captures,
    unreadable: [],
    verdict: { decision: "none", limits: [] },
  };
}
