import { kernels } from "../kernels/kernels.generated.js";
import type { Random } from "../signal/random.ts";
import { drawsFor, type Extreme, type ExtremeEstimator, extremeEstimator, type NoisyCurve } from "./extremes.ts";
import type { Transitions } from "./transitions.ts";

/** Errors drawn for the extremes' intervals, all transitions together. */
const DRAWN = 600_000;

export interface FoundExtreme {
  readonly extreme: Extreme;
  /** Typical noise of one code's figure. */
  readonly own: number;
}

/** A curve of figures, one a transition or code. */
export interface FigureCurve {
  readonly values: Float64Array;
  readonly standard: Float64Array;
}

/**
 * The extremes of DNL, INL and total unadjusted error, from shared draws of the transitions' errors.
 * @param widths  code widths for the correlation of neighbours (shrunkWidths)
 * @param gain    G of the line
 */
export function histogramExtremes(
  tr: Transitions,
  widths: Float64Array,
  line: "endpoint" | "best-fit",
  gain: number,
  { dnl, inl, total }: Readonly<Record<"dnl" | "inl" | "total", FigureCurve>>,
  random: Random,
): Record<"dnlMax" | "dnlMin" | "inlMax" | "inlMin" | "total", FoundExtreme> {
  const count = tr.inputs.length;
  const last = count - 1;
  let level = 0;
  for (let i = 0; i < count; i++) level += (tr.noise[i]! ** 2 + tr.gap[i]! ** 2 / 3) / count;
  let width = 0;
  for (const u of dnl.standard) width += u ** 2 / last;
  // Nothing but rounding for an end-point line, a little for a best fit.
  let meanDnl = 0;
  if (line === "best-fit") for (const d of dnl.values) meanDnl += d / last;
  const make = (curve: FigureCurve, ownVariance: number, sign: NoisyCurve["sign"], atLeast: number): ExtremeEstimator =>
    extremeEstimator({
      values: curve.values,
      standard: curve.standard,
      ownVariance,
      sign,
      atLeast,
      counted: curve === dnl,
      courseOver: curve === dnl ? undefined : Math.max(8, Math.ceil(8 * tr.sigma)),
    });
  // DNL averages to nothing over the codes of an end-point line, INL passes through nothing: the true extremes lie beyond.
  const dnlMax = make(dnl, width, 1, Math.min(0, meanDnl));
  const dnlMin = make(dnl, width, -1, Math.max(0, meanDnl));
  const inlMax = make(inl, level, 1, 0);
  const inlMin = make(inl, level, -1, 0);
  const worst = make(total, level, 0, 0);
  const wanted = (estimator: ExtremeEstimator): number => drawsFor(estimator, DRAWN, count);
  const draws = Math.max(...[dnlMax, dnlMin, inlMax, inlMin, worst].map(wanted));
  random.takeTurn();
  const excesses = kernels.histogramExcesses(
    tr,
    widths,
    draws,
    line === "endpoint",
    gain,
    dnlMax.candidates,
    dnlMin.candidates,
    inlMax.candidates,
    inlMin.candidates,
    worst.candidates,
  );
  const found = (estimator: ExtremeEstimator, lifted: Float64Array, variance: number): FoundExtreme => ({
    extreme: estimator.result(lifted.subarray(0, wanted(estimator))),
    own: Math.sqrt(variance),
  });
  const lowest = found(dnlMin, excesses.dnlMin, width);
  return {
    dnlMax: found(dnlMax, excesses.dnlMax, width),
    // No code is narrower than nothing.
    dnlMin: {
      ...lowest,
      extreme: { ...lowest.extreme, value: Math.max(-1, lowest.extreme.value), low: Math.max(-1, lowest.extreme.low) },
    },
    inlMax: found(inlMax, excesses.inlMax, level),
    inlMin: found(inlMin, excesses.inlMin, level),
    total: found(worst, excesses.total, level),
  };
}

/** How an extreme's interval was got, for the method line. */
export function describeRoute(route: Extreme["route"]): string {
  switch (route) {
    case "shrinkage":
      return "the bias of a maximum over noisy codes taken off";
    case "simultaneous":
      return "simultaneous interval, because noise exceeds half of the spread between codes";
    case "exact":
      return "no noise to allow for";
  }
}
