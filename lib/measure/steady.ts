import type { MatchedRecord } from "../match/matched.ts";
import { say } from "../match/say.ts";
import {
  betaQuantile,
  normalCdf,
  normalQuantile,
  standardDeviationFactors,
  tQuantile,
} from "../signal/distributions.ts";
import type { Random } from "../signal/random.ts";
import { knownCells } from "./knownCells.ts";
import type { Estimate, Estimates, Measurement, SteadyCurve, TransitionCurve } from "./measurement.ts";
import { type NoiseCorrelation, noiseCorrelation } from "./noiseCorrelation.ts";
import { type NoiseEstimate, noiseEstimate } from "./noiseEstimate.ts";
import { quantisationReach } from "./noiseQuantisation.ts";
import { type SteadyHum, steadyHum } from "./steadyHum.ts";
import { type SteadySurvey, steadySurvey } from "./steadySurvey.ts";

const Z95 = normalQuantile(0.975);
/** Code widths that are known to this are better than assumed ones, LSB. */
const WORTH_KNOWING = 0.12;

/**
 * Noise, resolution, mean and drift of a steady input.
 * Readings need not be independent: how far neighbours vary together is worked out and enters every interval. Sixty readings copied by hand will do.
 * @param record  one channel, matched; only its clean stretches are used
 * @param _random  not needed: nothing here is drawn
 */
export function measureSteady(record: MatchedRecord, _random: Random): Measurement {
  const stretches = record.clean.filter(([first, last]) => last >= first);
  if (stretches.length === 0) return { estimates: {}, curves: {}, findings: [] };
  const survey = steadySurvey(record.codes, stretches);
  const correlation = noiseCorrelation(record.codes, stretches, survey.mean, survey.slope);
  const noise = noiseEstimate(survey, correlation, record.scale);
  // Hum is part of what the readings scatter by, but moves their mean and slope by no more than its periods leave over.
  const hum = steadyHum(record, survey);
  const rest =
    hum === null
      ? correlation
      : noiseCorrelation(record.codes, stretches, survey.mean - hum.mean, survey.slope - hum.slope, hum.at);
  return {
    estimates: {
      ...noiseEstimates(noise, record.scale.bits),
      codeRms: codeRms(survey, correlation, noise),
      noisePeakToPeak: noisePeakToPeak(survey),
      meanCode: meanCode(survey, rest, hum, correlation.variance, isShorterThanMains(record)),
      drift: drift(record, survey, rest, noise, hum),
    },
    curves: { steady: steadyCurve(survey, correlation) },
    findings: [],
  };
}

/**
 * Noise and resolution of a steady record again, now that another capture of the same converter has measured where its codes begin and end: the widths then need not be
 * assumed.
 * @param curve  transitions of that capture
 * @returns no estimates where it tells the widths no better than they are taken for granted
 */
export function noiseWithTransitions(record: MatchedRecord, curve: TransitionCurve): Estimates {
  const stretches = record.clean.filter(([first, last]) => last >= first);
  if (stretches.length === 0) return {};
  const survey = steadySurvey(record.codes, stretches);
  const known = knownCells(curve, record.scale, survey.smallest, survey.largest);
  if (known === null || known.widthSd > WORTH_KNOWING) return {};
  const correlation = noiseCorrelation(record.codes, stretches, survey.mean, survey.slope);
  const noise = noiseEstimate(survey, correlation, record.scale, known);
  return noiseEstimates(noise, record.scale.bits);
}

function noiseEstimates(noise: NoiseEstimate, bits: number): Estimates {
  return {
    noiseRms: noiseRms(noise),
    effectiveResolution: resolution(noise, bits, 1),
    noiseFreeBits: resolution(noise, bits, 6.6),
  };
}

function isShorterThanMains({ codes, sampleRate }: MatchedRecord): boolean {
  return sampleRate !== null && codes.length / sampleRate.value < 1 / 60;
}

function noiseRms(noise: NoiseEstimate): Estimate {
  const { sigma, low, high, method, reason, shares } = noise;
  return { value: sigma, unit: "LSB", method, reason, low, high, limits: [], shares };
}

/** Shares of two codes: an interval for the chance of the upper one. Source: Jeffreys interval, Brown, Cai and DasGupta, Statistical Science 16(2), 2001. */
function chance(seen: number, of: number): readonly [number, number] {
  return [
    seen <= 0 ? 0 : betaQuantile(0.025, seen + 0.5, of - seen + 0.5),
    seen >= of ? 1 : betaQuantile(0.975, seen + 0.5, of - seen + 0.5),
  ];
}

/** How many of the readings are the upper of two neighbouring codes; null where there are more than two codes, or codes apart. */
function upperOfTwo({ smallest, largest, counts }: SteadySurvey): number | null {
  return largest - smallest > 1 || counts === null ? null : (counts[1] ?? 0);
}

/**
 * @param correlation  of what the hum leaves
 * @param variance     of the codes about their line, hum included
 * @param isShort      less than a period of the mains long
 */
function meanCode(
  survey: SteadySurvey,
  correlation: NoiseCorrelation,
  hum: SteadyHum | null,
  variance: number,
  isShort: boolean,
): Estimate {
  const { readings: M, mean, smallest } = survey;
  const worth = M / correlation.meanInflation;
  const upper = upperOfTwo(survey);
  const moved = Math.abs(hum?.mean ?? 0);
  const plain =
    correlation.meanInflation > 1.05
      ? `mean of ${M} codes, worth ${Math.round(worth)} independent ones`
      : `mean of ${M} codes`;
  const remark = isShort
    ? "; a record shorter than a period of the mains: hum would pass for the level"
    : hum === null
      ? ""
      : `; hum moves it by ${moved.toPrecision(2)} LSB at most`;
  const base = { unit: "LSB", limits: [], method: plain + remark };
  if (upper !== null) {
    const share = variance > 0 ? Math.min(1, correlation.variance / variance) : 1;
    const [low, high] = chance((upper / M) * (worth / share), worth / share);
    // With one code only, its neighbour on either side may have been missed.
    return {
      ...base,
      value: mean,
      low: smallest + (survey.largest === smallest ? -high : low) - moved,
      high: smallest + high + moved,
      shares: [{ from: "number of readings", standard: (high - low) / 2 / Z95 }],
    };
  }
  // Half a count more than was seen: in a short record the codes at the edge of the noise may be missing by chance.
  const standard = Math.sqrt((correlation.variance + 0.5 / worth) / worth);
  const half = tQuantile(0.975, Math.max(1, correlation.meanDof)) * standard + moved;
  return {
    ...base,
    value: mean,
    low: mean - half,
    high: mean + half,
    shares: [{ from: "number of readings", standard }],
  };
}

function codeRms(survey: SteadySurvey, correlation: NoiseCorrelation, noise: NoiseEstimate): Estimate {
  const { readings: M, slope, timeSquares } = survey;
  const base = { unit: "LSB", limits: [], method: "√(Σ(y − ȳ)²/(M − 1)), quantisation and drift included" };
  if (M < 2)
    return { ...base, value: null, low: null, high: null, reason: "1 reading; a standard deviation needs at least 2" };
  const value = Math.sqrt((correlation.variance * M + slope * slope * timeSquares) / (M - 1));
  const upper = upperOfTwo(survey);
  const worth = M / correlation.varianceInflation;
  if (upper !== null) {
    const [p, q] = chance((upper / M) * worth, worth);
    const spread = (x: number): number => Math.sqrt(x * (1 - x));
    const ends = [spread(p), spread(q)];
    // A third code may have been missed by chance, as far as the bound on the noise lets it occur.
    const missed =
      survey.largest === survey.smallest ? 0 : Math.min(1 / worth, normalCdf(-0.6 / Math.max(0.01, noise.high ?? 0)));
    const top = Math.max(p < 0.5 && q > 0.5 ? 0.5 : 0, ...ends, value);
    return { ...base, value, low: Math.min(...ends, value), high: Math.sqrt(top * top + 2 * missed) };
  }
  // A short record shows too little of its own tails: what the fitted noise would show counts where it is more.
  const excess = Math.max(0.2, correlation.excess, noise.sigma === null ? 0 : excessOf(survey.mean, noise.sigma));
  const dof = Math.max(1, (2 * (worth - 1)) / excess);
  const [down, up] = standardDeviationFactors(dof);
  return { ...base, value, low: value * down, high: value * up };
}

/** Variance of squared departures over the square of their mean, for Gaussian noise about `mean` seen through an ideal quantiser; 2 for many codes. */
function excessOf(mean: number, sigma: number): number {
  if (sigma > 2) return 2;
  let m1 = 0;
  let m2 = 0;
  let m3 = 0;
  let m4 = 0;
  const centre = Math.round(mean);
  for (let k = -14; k <= 14; k++) {
    const x = centre + k - mean;
    const p = normalCdf((x + 0.5) / sigma) - normalCdf((x - 0.5) / sigma);
    m1 += p * x;
    m2 += p * x * x;
    m3 += p * x ** 3;
    m4 += p * x ** 4;
  }
  const variance = m2 - m1 * m1;
  const fourth = m4 - 4 * m1 * m3 + 6 * m1 * m1 * m2 - 3 * m1 ** 4;
  return variance > 0 ? fourth / variance ** 2 - 1 : 2;
}

function noisePeakToPeak({ smallest, largest, readings }: SteadySurvey): Estimate {
  const value = largest - smallest;
  return {
    value,
    unit: "LSB",
    method: `largest minus smallest of these ${readings} codes; a count, not an estimate, and larger in a longer record`,
    low: value,
    high: value,
    limits: [],
  };
}

/** log2(2^N/(factor·σ)), at most N. */
function resolution(noise: NoiseEstimate, bits: number, factor: number): Estimate {
  const raw = (sigma: number | null): number | null =>
    sigma === null ? null : sigma === 0 ? Number.POSITIVE_INFINITY : bits - Math.log2(factor * sigma);
  const cap = (x: number | null): number | null => (x === null ? null : Math.min(bits, x));
  const low = cap(raw(noise.high));
  const best = raw(noise.sigma);
  // Below the bound of a σ that is only bounded, the resolution may still be capped for certain.
  const value = noise.sigma !== null ? cap(best) : low === bits ? bits : null;
  const isCapped = value === bits && (best === null || best > bits);
  const name = factor === 1 ? "log2(2^N/σ)" : `log2(2^N/(${factor}·σ))`;
  return {
    value,
    unit: "bit",
    method: `${name}, σ by ${noise.method}${isCapped ? "; capped at N, the noise being below what the codes resolve" : ""}`,
    ...(value === null ? { reason: noise.reason } : {}),
    low,
    // No σ gives more than N bits, so the upper end is there even when σ has no lower bound.
    high: noise.high === null ? null : (cap(raw(noise.low)) ?? bits),
    limits: [],
    shares:
      value === null || noise.sigma === null || isCapped
        ? []
        : noise.shares.map((s) => ({ from: s.from, standard: s.standard / (noise.sigma! * Math.LN2) })),
  };
}

function drift(
  record: MatchedRecord,
  survey: SteadySurvey,
  correlation: NoiseCorrelation,
  noise: NoiseEstimate,
  hum: SteadyHum | null,
): Estimate {
  const { readings: M, slope, timeSquares } = survey;
  const base = { unit: "LSB/s", limits: [], low: null, high: null };
  if (M < 8)
    return {
      ...base,
      value: null,
      method: "least-squares slope",
      reason: `${say.plural(M, "reading")}; at least 8 are needed for a slope`,
    };
  const { sampleRate } = record;
  const worth = M / correlation.slopeInflation;
  const standard = Math.sqrt((correlation.slopeInflation * (correlation.variance + 0.5 / worth)) / timeSquares);
  // A level that wanders inside one code does not show; over several codes the steps average out.
  const reach = quantisationReach(noise.sigma ?? 0);
  const hidden = (2 * reach) / M / Math.max(1, Math.abs(slope) * M);
  const crossed = Math.abs(slope) * M;
  // Over so few codes their widths decide how fast the codes follow the input: of a walk of independent widths, the slope of a fit over d of them errs by √(1.2/d).
  const widths =
    Math.abs(slope) *
    noise.widthSd *
    Math.sqrt(1 / Math.max(1, Math.hypot(crossed / 1.2, 2 * Math.sqrt(Math.PI) * (noise.sigma ?? 0))));
  const scatter = Math.hypot(tQuantile(0.975, Math.max(1, correlation.meanDof)) * standard, hidden, Z95 * widths);
  const half = scatter + Math.abs(hum?.slope ?? 0);
  if (sampleRate === null)
    return {
      ...base,
      value: null,
      method: "least-squares slope of the codes over the readings",
      reason: `neither a sample rate nor time stamps: the slope is (${(1000 * slope).toPrecision(2)} ± ${(1000 * half).toPrecision(2)}) LSB per 1000 readings`,
    };
  const rate = sampleRate.value;
  return {
    value: slope * rate,
    unit: "LSB/s",
    method: "least-squares slope of the codes over time",
    low: (slope - half) * rate,
    high: (slope + half) * rate,
    limits: record.rateLimit > 0 ? [{ from: "sample rate", halfWidth: record.rateLimit * Math.abs(slope * rate) }] : [],
    shares: [
      { from: "noise over the record's length", standard: standard * rate },
      { from: "quantisation", standard: (hidden / Z95) * rate },
      { from: "unknown code widths (DNL)", standard: widths * rate },
    ],
    // The slope's uncertainty falls as M^(3/2): more readings also make the record longer.
    readingsNeeded: (halfWidth) => M * ((half * rate) / halfWidth) ** (2 / 3),
  };
}

function steadyCurve(survey: SteadySurvey, correlation: NoiseCorrelation): SteadyCurve {
  const { counts, smallest, blocks } = survey;
  const mean = new Float64Array(blocks.length);
  const standard = new Float64Array(blocks.length);
  blocks.forEach((block, i) => {
    mean[i] = block.sum / block.readings;
    // However long the noise remembers, a mean of some readings scatters no more than one of them.
    standard[i] = Math.sqrt(correlation.variance * Math.min(1, correlation.meanInflation / block.readings));
  });
  const listed: { code: number; count: number }[] = [];
  if (counts !== null)
    for (let i = 0; i < counts.length; i++) if (counts[i]! > 0) listed.push({ code: smallest + i, count: counts[i]! });
  return {
    counts: listed,
    blocks: { readingsEach: blocks[0]!.readings, mean, standard },
    driftPerReading: survey.readings >= 3 ? survey.slope : null,
  };
}
