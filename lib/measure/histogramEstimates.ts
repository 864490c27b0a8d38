import { METRICS, type MetricName } from "../bench/metrics.ts";
import { voltageOfCode } from "../bench/scale.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { MatchedRecord } from "../match/matched.ts";
import type { Random } from "../signal/random.ts";
import { describeRoute, type FoundExtreme, histogramExtremes } from "./histogramExtremes.ts";
import { limitsAt, limitsOnGain, limitsOnInl, limitsOnTotal } from "./histogramLimits.ts";
import { withheld } from "./histogramWorth.ts";
import type { Estimate, Estimates, TransitionCurve } from "./measurement.ts";
import { missingCodes } from "./missingCodes.ts";
import { differentialNonlinearity, integralNonlinearity, staticLine, unadjustedErrors } from "./staticLine.ts";
import { type SplitError, shrunkWidths, staticErrors } from "./staticLineErrors.ts";
import type { Transitions } from "./transitions.ts";
import { plainTransitions } from "./transitionsPlain.ts";
import type { Sweep } from "./transitionsSweep.ts";

/**
 * The static metrics with their intervals, and the curves per code, from transition levels.
 * @param random  for the draws of errors
 */
export function staticEstimates(
  record: MatchedRecord,
  sweep: Sweep,
  tr: Transitions,
  random: Random,
): { estimates: Estimates; curve: TransitionCurve } {
  const { scale, stimulus, spec } = record;
  const { line } = spec.converter;
  const { first } = tr;
  const count = tr.inputs.length;
  const last = first + count - 1;
  const volts = kernels.onLine(tr.inputs, scale.low, scale.lsb);
  const theLine = staticLine(volts, scale, first, line);
  const inl = integralNonlinearity(volts, scale, first, theLine);
  const dnl = differentialNonlinearity(volts, scale.lsb, theLine);
  const widths = shrunkWidths(tr);
  const errors = staticErrors(tr, scale, line, theLine.gain, widths);
  const lowU = 1.96 * errors.transitions[0]!;
  const { missing, possiblyMissing } = missingCodes(tr, sweep.both.histogram.counts, theLine.gain);
  const curve: TransitionCurve = {
    first,
    line,
    volts,
    voltsU: kernels.onLine(errors.transitions, 0, scale.lsb),
    inl,
    inlU: errors.inl,
    dnl,
    dnlU: errors.dnl,
    missing,
    possiblyMissing,
  };

  const lineName = line === "endpoint" ? "end-point line" : "best-fit line";
  const method = `${sweep.basis}; ${lineName} over T[${first}] to T[${last}], noise ${tr.sigma.toPrecision(2)} LSB${sweep.leftOut > 0 ? `, ${sweep.leftOut} outlying readings left out` : ""}; plain histogram within ${plainDifference(sweep, tr).toPrecision(2)} LSB`;
  const readingsNeeded = (own: number) => (halfWidth: number) =>
    halfWidth > 0 ? Math.ceil(tr.readings * (own / halfWidth) ** 2) : Number.POSITIVE_INFINITY;
  const symmetric = (name: MetricName, value: number, own: SplitError, limits: Estimate["limits"]): Estimate => ({
    value,
    unit: METRICS[name].unit,
    method,
    low: value - own.halfWidth,
    high: value + own.halfWidth,
    limits,
    shares: [
      { from: "noise", standard: own.noise },
      { from: "gaps between readings", standard: own.gap },
    ].filter((s) => s.standard > 1e-3 * own.halfWidth),
    readingsNeeded: readingsNeeded(own.halfWidth),
  });
  const estimates: Estimates = {};
  const unknown = (name: MetricName, reason: string): void => {
    estimates[name] = { value: null, unit: METRICS[name].unit, method, reason, low: null, high: null, limits: [] };
  };

  const total = unadjustedErrors(volts, scale, first);
  const curves = {
    dnl: { values: dnl.subarray(0, count - 1), standard: errors.dnl.subarray(0, count - 1) },
    inl: { values: inl, standard: errors.inl },
    total: { values: total, standard: errors.transitions },
  };
  const found = histogramExtremes(tr, widths, line, theLine.gain, curves, random);
  const extremeOf = (name: MetricName, { extreme, own }: FoundExtreme, limits: Estimate["limits"]): Estimate => ({
    value: extreme.value,
    unit: METRICS[name].unit,
    method: `${method}; ${describeRoute(extreme.route)}`,
    low: extreme.low,
    high: extreme.high,
    limits,
    shares: [
      {
        from: extreme.route === "simultaneous" ? "noise of single codes, worst code unknown" : "noise of single codes",
        standard: own,
      },
    ],
    readingsNeeded: readingsNeeded((extreme.high - extreme.low) / 2),
  });
  const onInl = stimulus === null ? [] : limitsOnInl(stimulus, scale, line);
  estimates.dnlMax = extremeOf("dnlMax", found.dnlMax, []);
  estimates.dnlMin = extremeOf("dnlMin", found.dnlMin, []);
  estimates.inlMax = extremeOf("inlMax", found.inlMax, onInl);
  estimates.inlMin = extremeOf("inlMin", found.inlMin, onInl);
  estimates.missingCodes = {
    value: missing.length,
    unit: METRICS.missingCodes.unit,
    method: `${method}; missing where the width's upper bound lies below 0.1 LSB`,
    low: missing.length,
    high: missing.length + possiblyMissing.length,
    limits: [],
  };

  if (!sweep.stated || stimulus === null) {
    const reason = "the bench states no amplitude and offset of the source to compare with";
    for (const name of ["offsetError", "offsetAtLow", "gainError", "totalUnadjustedError"] as const)
      unknown(name, reason);
  } else {
    estimates.offsetError = symmetric(
      "offsetError",
      theLine.offset / scale.lsb,
      errors.offset,
      limitsAt(stimulus, scale, 0),
    );
    estimates.gainError = symmetric("gainError", 100 * (theLine.gain - 1), errors.gain, limitsOnGain(stimulus));
    if (first === 1)
      estimates.offsetAtLow = symmetric(
        "offsetAtLow",
        -total[0]!,
        { halfWidth: lowU, noise: tr.noise[0]!, gap: tr.gap[0]! / Math.sqrt(3) },
        limitsAt(stimulus, scale, volts[0]!),
      );
    else
      unknown(
        "offsetAtLow",
        `T[1] was not reached; the lowest transition reached is T[${first}], near ${voltageOfCode(scale, first - 0.5).toPrecision(4)} V`,
      );
    estimates.totalUnadjustedError = extremeOf(
      "totalUnadjustedError",
      found.total,
      limitsOnTotal(stimulus, scale, volts, total),
    );
  }

  const undecided = missing.length === 0 && possiblyMissing.length > 0;
  Object.assign(estimates, withheld(estimates, scale, tr, errors, undecided));
  return { estimates, curve };
}

/** By how much the published histogram method, from counts alone, differs at most: large where the record does not hold whole periods. */
function plainDifference({ both, waveform }: Sweep, { first, inputs }: Transitions): number {
  const plain = plainTransitions(both.histogram, waveform);
  return kernels.largestDifference(plain.subarray(first, first + inputs.length), inputs);
}
