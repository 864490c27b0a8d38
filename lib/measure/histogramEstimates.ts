import { METRICS, type MetricName } from "../bench/metrics.ts";
import { voltageOfCode } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { median } from "../signal/median.ts";
import type { Random } from "../signal/random.ts";
import { type Extreme, type ExtremeEstimator, extremeEstimator, type NoisyCurve } from "./extremes.ts";
import { limitsAt, limitsOnGain, limitsOnInl, limitsOnTotal } from "./histogramLimits.ts";
import type { Estimate, Estimates, TransitionCurve } from "./measurement.ts";
import { missingCodes } from "./missingCodes.ts";
import { readingsForDnl } from "./recordLength.ts";
import { differentialNonlinearity, integralNonlinearity, staticLine, unadjustedErrors } from "./staticLine.ts";
import { errorDraws, type SplitError, shrunkWidths, staticErrors } from "./staticLineErrors.ts";
import type { Transitions } from "./transitions.ts";
import { plainTransitions } from "./transitionsPlain.ts";
import type { Sweep } from "./transitionsSweep.ts";

/** A DNL that is known no better than this tells a missing code from a good one no more; LSB, 95 %. */
const USELESS_DNL = 1;
/** Levels known no better than this are worth no figure: 4 LSB, or a thousandth of the range. */
export function uselessLevel(bits: number): Lsb {
  return Math.max(4, 2 ** bits / 1000);
}

/** Errors drawn for the extremes' intervals, all transitions together. */
const DRAWN = 600_000;

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
  const volts = tr.inputs.map((x) => scale.low + x * scale.lsb);
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
    voltsU: errors.transitions.map((u) => u * scale.lsb),
    inl,
    inlU: errors.inl,
    dnl,
    dnlU: errors.dnl,
    missing,
    possiblyMissing,
  };

  const lineName = line === "endpoint" ? "end-point line" : "best-fit line";
  const method = `${sweep.basis}; ${lineName} over T[${first}] to T[${last}], noise ${tr.sigma.toPrecision(2)} LSB; plain histogram within ${plainDifference(sweep, tr).toPrecision(2)} LSB`;
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
  const withheld = (name: MetricName, reason: string): void => {
    estimates[name] = { value: null, unit: METRICS[name].unit, method, reason, low: null, high: null, limits: [] };
  };

  const total = unadjustedErrors(volts, scale, first);
  const found = extremes(
    tr,
    widths,
    line,
    theLine.gain,
    [
      { values: dnl.subarray(0, count - 1), standard: errors.dnl.subarray(0, count - 1), of: "dnl" },
      { values: inl, standard: errors.inl, of: "inl" },
      { values: total, standard: errors.transitions, of: "total" },
    ],
    random,
  );
  const extremeOf = (name: MetricName, { extreme, own }: Found, limits: Estimate["limits"]): Estimate => ({
    value: extreme.value,
    unit: METRICS[name].unit,
    method: `${method}; ${describe(extreme.route)}`,
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
      withheld(name, reason);
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
      withheld(
        "offsetAtLow",
        `T[1] was not reached; the lowest transition reached is T[${first}], near ${voltageOfCode(scale, first - 0.5).toPrecision(4)} V`,
      );
    estimates.totalUnadjustedError = extremeOf(
      "totalUnadjustedError",
      found.total,
      limitsOnTotal(stimulus, scale, volts, total),
    );
  }

  // Where most codes are known too badly, a figure would only look like one; honest bounds may stay.
  const withoutValue = (name: MetricName, reason: string): void => {
    const had = estimates[name];
    if (had !== undefined && had.value !== null) estimates[name] = { ...had, value: null, reason };
  };
  const dnlU = 1.96 * median(errors.dnl.subarray(0, count - 1));
  const needed = rounded(readingsForDnl({ bits: scale.bits, halfWidth: 0.1 }));
  if (dnlU > USELESS_DNL) {
    const reason = `${tr.readings} readings leave the typical DNL at ±${dnlU.toFixed(1)} LSB; about ${needed} needed for ±0.1 LSB`;
    // With so few readings a code even the bounds rest on the shape of a handful of counts.
    withheld("dnlMax", reason);
    withheld("dnlMin", reason);
  }
  const perCode = median(tr.density);
  if (0.1 * perCode < 3 && missing.length === 0 && possiblyMissing.length > 0)
    withoutValue(
      "missingCodes",
      `${tr.readings} readings, about ${perCode.toPrecision(2)} a code, cannot tell a missing code from a narrow one; about ${rounded((tr.readings * 60) / perCode)} would`,
    );
  const useless = uselessLevel(scale.bits);
  const inlU = 1.96 * median(errors.inl);
  if (inlU > useless) {
    const reason = `${tr.readings} readings leave the typical INL at ±${inlU.toFixed(1)} LSB`;
    for (const name of ["inlMax", "inlMin", "totalUnadjustedError"] as const) withoutValue(name, reason);
  }
  if (lowU > useless) withoutValue("offsetAtLow", `${tr.readings} readings leave T[1] at ±${lowU.toFixed(1)} LSB`);
  if (errors.offset.halfWidth > useless)
    withoutValue(
      "offsetError",
      `${tr.readings} readings leave the offset at ±${errors.offset.halfWidth.toFixed(1)} LSB`,
    );
  if ((errors.gain.halfWidth / 100) * 2 ** scale.bits > useless)
    withoutValue("gainError", `${tr.readings} readings leave the gain at ±${errors.gain.halfWidth.toPrecision(2)} %`);
  return { estimates, curve };
}

interface Found {
  readonly extreme: Extreme;
  /** Typical noise of one code's figure. */
  readonly own: number;
}

interface CurveOf {
  readonly values: Float64Array;
  readonly standard: Float64Array;
  readonly of: "dnl" | "inl" | "total";
}

/** The five extremes from shared draws of the transitions' errors. */
function extremes(
  tr: Transitions,
  widths: Float64Array,
  line: "endpoint" | "best-fit",
  gain: number,
  [dnl, inl, total]: readonly [CurveOf, CurveOf, CurveOf],
  random: Random,
): Record<"dnlMax" | "dnlMin" | "inlMax" | "inlMin" | "total", Found> {
  const count = tr.inputs.length;
  const last = count - 1;
  let level = 0;
  for (let i = 0; i < count; i++) level += (tr.noise[i]! ** 2 + tr.gap[i]! ** 2 / 3) / count;
  let width = 0;
  for (const u of dnl.standard) width += u ** 2 / last;
  let meanDnl = 0;
  for (const d of dnl.values) meanDnl += d / last;
  const make = (curve: CurveOf, ownVariance: number, sign: NoisyCurve["sign"], atLeast: number): ExtremeEstimator =>
    extremeEstimator({
      values: curve.values,
      standard: curve.standard,
      ownVariance,
      sign,
      atLeast,
      counted: curve.of === "dnl",
      courseOver: curve.of === "dnl" ? undefined : Math.max(8, Math.ceil(8 * tr.sigma)),
    });
  // DNL averages to nothing over the codes of an end-point line, INL passes through nothing: the true extremes lie beyond.
  const dnlMax = make(dnl, width, 1, Math.min(0, meanDnl));
  const dnlMin = make(dnl, width, -1, Math.max(0, meanDnl));
  const inlMax = make(inl, level, 1, 0);
  const inlMin = make(inl, level, -1, 0);
  const worst = make(total, level, 0, 0);
  const e = new Float64Array(count);
  const eDnl = new Float64Array(last);
  const eInl = new Float64Array(count);
  const draw = errorDraws(tr, widths, random);
  const draws = Math.round(Math.min(200, Math.max(40, DRAWN / count)));
  for (let d = 0; d < draws; d++) {
    draw(e);
    const [from, slope] = lineThrough(e, line);
    for (let i = 0; i < count; i++) eInl[i] = e[i]! - from - slope * i;
    for (let i = 0; i < last; i++) eDnl[i] = gain * (e[i + 1]! - e[i]!);
    dnlMax.add(eDnl);
    dnlMin.add(eDnl);
    inlMax.add(eInl);
    inlMin.add(eInl);
    worst.add(e);
  }
  const found = (estimator: ExtremeEstimator, variance: number): Found => ({
    extreme: estimator.result(),
    own: Math.sqrt(variance),
  });
  const lowest = found(dnlMin, width);
  return {
    dnlMax: found(dnlMax, width),
    // No code is narrower than nothing.
    dnlMin: {
      ...lowest,
      extreme: { ...lowest.extreme, value: Math.max(-1, lowest.extreme.value), low: Math.max(-1, lowest.extreme.low) },
    },
    inlMax: found(inlMax, level),
    inlMin: found(inlMin, level),
    total: found(worst, level),
  };
}

/** Intercept and slope per code of the errors' own line. */
function lineThrough(e: Float64Array, line: "endpoint" | "best-fit"): [number, number] {
  const last = e.length - 1;
  if (line === "endpoint") return [e[0]!, (e[last]! - e[0]!) / last];
  let sum = 0;
  let moment = 0;
  for (let i = 0; i <= last; i++) {
    sum += e[i]!;
    moment += e[i]! * (i - last / 2);
  }
  const slope = (12 * moment) / (last * (last + 1) * (last + 2));
  return [sum / e.length - (slope * last) / 2, slope];
}

function describe(route: "shrinkage" | "simultaneous" | "exact"): string {
  switch (route) {
    case "shrinkage":
      return "the bias of a maximum over noisy codes taken off";
    case "simultaneous":
      return "simultaneous interval, because noise exceeds half of the spread between codes";
    case "exact":
      return "no noise to allow for";
  }
}

/** By how much the published histogram method, from counts alone, differs at most: large where the record does not hold whole periods. */
function plainDifference({ both, waveform }: Sweep, { first, inputs }: Transitions): number {
  const plain = plainTransitions(both.histogram, waveform);
  let most = 0;
  for (let i = 0; i < inputs.length; i++) {
    const difference = Math.abs(plain[first + i]! - inputs[i]!);
    if (difference > most) most = difference;
  }
  return most;
}

/** A count in words: "2.5 million", "620 000". */
function rounded(readings: number): string {
  if (readings >= 1e6) return `${Number((readings / 1e6).toPrecision(2))} million`;
  return String(Number(readings.toPrecision(2))).replace(/(?<=\d)(?=(\d{3})+$)/g, " ");
}
