import type { MetricName } from "../bench/metrics.ts";
import { voltageOfCode } from "../bench/scale.ts";
import type { ResultConverter, ResultFigure } from "../result.ts";

const map = (x: number | null, f: (x: number) => number): number | null => (x === null ? null : f(x));

/** A figure in another unit: all its numbers multiplied. */
function scaled(figure: ResultFigure, factor: number, unit: string): ResultFigure {
  const times = (x: number): number => x * factor;
  return {
    ...figure,
    value: map(figure.value, times),
    low: map(figure.low, times),
    high: map(figure.high, times),
    uncertainty: map(figure.uncertainty, times),
    unit,
    ...(figure.budget === undefined
      ? {}
      : {
          budget: {
            ...figure.budget,
            parts: figure.budget.parts.map((p) => ({ ...p, halfWidth: times(p.halfWidth) })),
          },
        }),
  };
}

/**
 * A figure in LSB as volts at the pin, so that two resolutions can be compared; a mean code becomes the voltage it stands for.
 * @returns null for a figure that is not in LSB
 */
export function inVolts(
  metric: MetricName,
  figure: ResultFigure,
  { scale, low, high }: Pick<ResultConverter, "scale" | "low" | "high">,
): ResultFigure | null {
  if (figure.unit !== "LSB" && figure.unit !== "LSB/s") return null;
  const volts = scaled(figure, scale.lsb, figure.unit.replace("LSB", "V"));
  if (metric !== "meanCode") return volts;
  const at = (code: number): number => voltageOfCode({ ...scale, low, fsr: high - low }, code);
  return { ...volts, value: map(figure.value, at), low: map(figure.low, at), high: map(figure.high, at) };
}

/** The magnitude of a signed figure: the interval of |x|, which begins at 0 where the signed one holds both signs. */
export function magnitudeOf(figure: ResultFigure): ResultFigure {
  const { value, low, high } = figure;
  if (low !== null && low >= 0) return figure;
  const mirrored = { ...figure, value: map(value, Math.abs), low: map(high, (x) => -x), high: map(low, (x) => -x) };
  if (high !== null && high <= 0) return mirrored;
  const far = low === null || high === null ? null : Math.max(-low, high);
  return {
    ...figure,
    value: map(value, Math.abs),
    low: low === null || high === null ? null : 0,
    high: far,
    uncertainty: far === null ? null : far / 2,
  };
}

/** The sign that a figure's interval settles: 0 where it holds both. */
export function settledSign({ value, low, high }: ResultFigure): -1 | 0 | 1 {
  if (value === null || low === null || high === null) return 0;
  return low > 0 ? 1 : high < 0 ? -1 : 0;
}

/**
 * A figure as it can be compared with another record's. The peak to peak of a record is exact for that record and says nothing of the next: its interval is taken off.
 */
export function repeatable(metric: MetricName, figure: ResultFigure): ResultFigure {
  return metric === "noisePeakToPeak" ? { ...figure, low: null, high: null, uncertainty: null } : figure;
}
