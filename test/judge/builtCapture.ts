import type { Bench, CaptureSpec, Converter, Limit, LimitMetric, Stimulus } from "../../lib/bench/bench.ts";
import type { MetricName } from "../../lib/bench/metrics.ts";
import type { JudgedCapture } from "../../lib/judge/decide.ts";
import { expand } from "../../lib/judge/expand.ts";
import type { Figure, Figures } from "../../lib/judge/figure.ts";
import type { Estimate } from "../../lib/measure/measurement.ts";

/** An estimate with a symmetric interval of its record and, if given, limits of its source. */
export function estimateOf(
  value: number | null,
  half: number,
  limits: Estimate["limits"] = [],
  more: Partial<Estimate> = {},
): Estimate {
  return {
    value,
    unit: "LSB",
    method: "built for a test",
    low: value === null ? null : value - half,
    high: value === null ? null : value + half,
    limits,
    ...more,
  };
}

export function figureOf(value: number, half: number, limits: Estimate["limits"] = []): Figure {
  return expand(estimateOf(value, half, limits));
}

/** A figure with no value, perhaps with a bound. */
export function openFigure(low: number | null, high: number | null, reason = "too few readings"): Figure {
  return expand(estimateOf(null, 0, [], { low, high, reason }));
}

const converter: Converter = {
  bits: 12,
  low: 0,
  high: 2.5,
  coding: "binary",
  align: "right",
  container: 16,
  firstTransition: 0.5,
  line: "endpoint",
  timing: null,
  input: { sourceResistance: null, switchResistance: null, sampleCapacitance: null },
  pin: { low: -0.3, high: 2.8, stated: false },
  reference: null,
  averaging: null,
};

export function sine(purity: { thd: number | null; snr: number | null } = { thd: null, snr: null }): Stimulus {
  return {
    kind: "sine",
    frequency: 997,
    amplitude: 1.2,
    offset: 1.25,
    accuracy: { frequency: 0, amplitude: 0, offset: 0 },
    purity,
  };
}

export const steps: Stimulus = {
  kind: "steps",
  column: null,
  levels: [{ voltage: 1, readings: 10 }],
  direction: "up",
  accuracy: { gain: 0, offset: 0, linearity: 0, repeatability: 0 },
};

/** A scored capture of a 12-bit converter. */
export function captureOf(
  name: string,
  figures: Figures,
  options: {
    readonly channel?: string;
    readonly stated?: string;
    readonly bits?: number;
    readonly stimulus?: Stimulus;
    readonly readings?: number;
    readonly conditions?: Record<string, string>;
  } = {},
): JudgedCapture {
  const { channel = "adc0", stated, bits = 12, stimulus = sine(), readings = 4096, conditions = {} } = options;
  return {
    spec: {
      name,
      converter: { ...converter, bits },
      frontEnd: null,
      stimulus,
      conditions,
      reading: stated === undefined ? {} : { channel: stated },
    } as unknown as CaptureSpec,
    record: {
      channel,
      codes: { length: readings },
      stimulus: { ...stimulus, limits: [], linearity: 0, repeatability: 0 },
    },
    figures,
  };
}

export function limitOf(
  metric: LimitMetric,
  bounds: { min?: number; max?: number; capture?: string; channel?: string },
): Limit {
  return {
    metric,
    min: bounds.min ?? null,
    max: bounds.max ?? null,
    capture: bounds.capture ?? null,
    channel: bounds.channel ?? null,
  };
}

export function benchOf(
  limits: readonly Limit[],
  decision: "guarded" | "simple" = "guarded",
): Pick<Bench, "limits" | "decision"> {
  return { limits, decision };
}

export type Named = Partial<Record<MetricName, Figure>>;
