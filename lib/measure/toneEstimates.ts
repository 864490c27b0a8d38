import type { MetricName } from "../bench/metrics.ts";
import type { Stretch } from "../capture/record.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { tQuantile } from "../signal/distributions.ts";
import type { Estimate, Estimates } from "./measurement.ts";
import { FEWEST_FOR_HARMONICS, type ToneAnalysis } from "./toneAnalysis.ts";
import { type Distortion, UNKNOWN } from "./toneHarmonicTable.ts";
import { decibels, powerFactors } from "./toneInterval.ts";
import type { ToneSpectrum } from "./toneSpectrum.ts";
import { fullScalePower } from "./toneSpectrumCurve.ts";
import type { Spur } from "./toneSpurs.ts";

const UNITS = {
  sinad: "dB",
  enob: "bit",
  enobAtLevel: "bit",
  snr: "dB",
  thd: "dBc",
  sfdr: "dBc",
  signalLevel: "dBFS",
  noiseFloor: "dBFS/Hz",
} as const satisfies Partial<Record<MetricName, string>>;
type ToneMetric = keyof typeof UNITS;

/** Decibels per bit, 20·log10 2. */
const DB_PER_BIT = 20 * Math.log10(2);
/** Decibels per relative change of a power. */
const DB = 10 / Math.LN10;

/** The converter's own pattern is taken apart only where phases outnumber the fitted parameters by this, and it is more than this share of the noise. */
const SPARE = 1.2;
const PATTERNED = 0.3;

/** Of what was found, at least this share is taken for noise. */
const MOST_FOREIGN = 0.2;

/** All tone metrics null, for one reason. */
export function unmeasured(reason: string): Estimates {
  return Object.fromEntries(
    Object.entries(UNITS).map(([name, unit]) => [
      name,
      { value: null, unit, method: "sine fit", reason, low: null, high: null, limits: [] } satisfies Estimate,
    ]),
  );
}

/** The tone metrics with their intervals. */
export function toneEstimates(
  record: MatchedRecord,
  stretch: Stretch,
  analysis: ToneAnalysis,
  spectrum: ToneSpectrum,
  distortion: Distortion | null,
  spur: Spur | null,
): Estimates {
  const { fit, readings, tonePower, tonePowerSd, nad, noise, places, scatter, leakage } = analysis;
  const codes = 2 ** record.scale.bits;
  const full = fullScalePower(record.scale);
  const over = `${readings === record.codes.length ? `all ${readings} readings` : `readings ${stretch[0]} to ${stretch[1]}, the longest stretch without a gap`}`;
  const fitted = `${fit.parameters}-parameter sine fit over ${over}${analysis.together ? ", harmonics fitted with it because they leak into it" : ""}`;
  const hidden = places.filter((p) => p.state === "hidden").map((p) => p.order);
  const unseen =
    hidden.length === 0
      ? ""
      : `; harmonic${hidden.length > 1 ? "s" : ""} ${hidden.join(", ")} cannot be told from DC or the tone and ${hidden.length > 1 ? "are" : "is"} left out`;

  // The tone's own level is uncertain too, which matters where noise is large.
  const dof = Math.max(1, readings - fit.parameters);
  const t = dof < 1000 ? tQuantile(0.975, dof) : 1.96;
  const toneDb = DB * (tonePowerSd / tonePower);
  const slowShare = scatter.ofSquare > 0 ? scatter.slow / scatter.ofSquare : 0;

  // `extra`: distortion that may be missing from the power; `foreign`: what may be in it and is none of it.
  const ratio = (power: number, centre: number, variance: number, extra: number, foreign: number) => {
    const relative = centre > 0 ? variance / centre ** 2 : 0;
    const [less, more] = powerFactors(relative);
    const value = decibels(tonePower / power);
    const middle = decibels(tonePower / centre);
    const down = Math.hypot(decibels((centre * more + extra) / centre), t * toneDb);
    const without = Math.max(MOST_FOREIGN, 1 - foreign / centre);
    const up = Math.hypot(decibels(less), t * toneDb) - decibels(without);
    return {
      value,
      low: Math.min(value, middle - down),
      high: Math.max(value, middle + up),
      shares: [
        { from: "finite readings", standard: DB * Math.sqrt(relative * (1 - slowShare)) },
        { from: "slow changes over the record", standard: DB * Math.sqrt(relative * slowShare) },
        { from: "level of the tone", standard: toneDb },
      ].filter((s) => s.standard > 0),
    };
  };
  const scaled = (r: ReturnType<typeof ratio>, by: (db: number) => number, factor: number) => ({
    value: by(r.value),
    low: by(r.low),
    high: by(r.high),
    shares: r.shares.map((s) => ({ ...s, standard: s.standard / factor })),
  });
  const longer = (low: number | null, high: number | null) =>
    low === null || high === null
      ? {}
      : { readingsNeeded: (halfWidth: number) => Math.ceil(readings * ((high - low) / 2 / halfWidth) ** 2) };
  const estimate = (
    name: ToneMetric,
    part: Pick<Estimate, "value" | "low" | "high"> & Pick<Estimate, "shares" | "reason">,
    method: string,
    limits: Estimate["limits"] = [],
  ): Estimate => ({ ...part, unit: UNITS[name], method, limits, ...longer(part.low, part.high) });

  if (!(nad > 0))
    return unmeasured("the readings lie on a sine exactly: there is neither noise nor distortion to measure");

  // A harmonic that hides under the tone may be as large as its neighbours of the same or a higher order.
  const neighbours = (order: number): number =>
    Math.max(0, ...(distortion?.harmonics ?? []).filter((h) => h.line.order >= order - 1).map((h) => h.high));
  // What the tone's own parameters took of a pattern that few phases show.
  const absorbed =
    analysis.pattern *
    nad *
    Math.max(0, fit.parameters / Math.max(1, analysis.phases - fit.parameters) - fit.parameters / dof);
  const extra = hidden.reduce((sum, order) => sum + neighbours(order), 0) + absorbed + leakage.intoTone;
  const sinad = ratio(nad, nad * analysis.nadCentre, analysis.nadVariance, extra, UNKNOWN * leakage.hidden);
  const nadMethod = `${fitted}; NAD² = RSS/(M − ${fit.parameters})${unseen}`;
  const estimates: Partial<Record<ToneMetric, Estimate>> = {
    sinad: estimate("sinad", sinad, nadMethod),
    enob: estimate(
      "enob",
      // The tone's level cancels: ENOB is NAD² against the range.
      scaled(sinad, (db) => Math.log2(codes / Math.sqrt(12 * tonePower)) + db / DB_PER_BIT, DB_PER_BIT),
      `log2(FSR/(NAD·√12)); ${nadMethod}`,
    ),
    enobAtLevel: estimate(
      "enobAtLevel",
      scaled(sinad, (db) => (db - decibels(1.5)) / DB_PER_BIT, DB_PER_BIT),
      `(SINAD − 1.76 dB)/6.02 dB at the tone's own level; ${nadMethod}`,
    ),
    signalLevel: estimate(
      "signalLevel",
      {
        value: decibels(tonePower / full),
        low: decibels(tonePower / full) - t * toneDb,
        high: decibels(tonePower / full) + t * toneDb,
        shares: [{ from: "finite readings", standard: toneDb }],
      },
      `amplitude of the ${fitted}, against a sine that spans the range`,
    ),
  };

  const jointly = `tone, DC and harmonics 2 to 10 fitted together over ${over}`;
  const short = `${readings} readings; at least ${FEWEST_FOR_HARMONICS} are needed to tell nine harmonics from noise`;
  if (noise === null || analysis.harmonics === null) {
    const reason =
      readings < FEWEST_FOR_HARMONICS
        ? short
        : "the tone's frequency folds its harmonics so that they cannot be told apart";
    for (const name of ["snr", "thd", "noiseFloor"] as const)
      estimates[name] = estimate(name, { value: null, low: null, high: null, reason }, jointly);
  } else if (analysis.pattern > PATTERNED && analysis.phases < SPARE * analysis.harmonics.parameters) {
    const reason = `the readings meet the tone at phases worth ${analysis.phases.toFixed(0)} evenly spread ones, too few to tell nine harmonics from each other and from noise; another frequency or a longer record gives more`;
    for (const name of ["snr", "thd", "noiseFloor"] as const)
      estimates[name] = estimate(name, { value: null, low: null, high: null, reason }, jointly);
  } else if (noise > 0) {
    const snr = ratio(noise, noise, analysis.noiseVariance, 0, UNKNOWN * (leakage.hidden + leakage.shared));
    const method = `${jointly}; what is left, made up for the ${analysis.harmonics.parameters} fitted parameters${unseen}`;
    estimates.snr = estimate("snr", snr, method);
    const rate = record.sampleRate?.value ?? null;
    if (rate === null)
      estimates.noiseFloor = estimate(
        "noiseFloor",
        {
          value: null,
          low: null,
          high: null,
          reason: "the sample rate is not known; state sampleRate, log time stamps, or state the stimulus frequency",
        },
        method,
      );
    else {
      const floor = (db: number): number => decibels(tonePower / full) - db - decibels(rate / 2);
      estimates.noiseFloor = estimate(
        "noiseFloor",
        { value: floor(snr.value), low: floor(snr.high), high: floor(snr.low), shares: snr.shares },
        `noise over half the sample rate; ${method}`,
        record.rateLimit > 0 ? [{ from: "timing", halfWidth: DB * record.rateLimit }] : [],
      );
    }
    estimates.thd = estimate(
      "thd",
      thdOf(distortion, tonePower),
      `${jointly}; each harmonic's power less the noise it holds${unseen}`,
    );
  }
  estimates.sfdr = estimate("sfdr", ...sfdrOf(distortion, spur, tonePower, spectrum));
  return estimates;
}

type Part = Pick<Estimate, "value" | "low" | "high" | "shares" | "reason">;

function thdOf(distortion: Distortion | null, tonePower: number): Part {
  if (distortion === null)
    return { value: null, low: null, high: null, reason: "every harmonic folds onto DC or the tone at this frequency" };
  const dbc = (power: number): number => decibels(power / tonePower);
  const { value, low, high } = distortion;
  if (value === null)
    return {
      value: null,
      low: null,
      high: dbc(high),
      reason: `harmonics 2 to 10 together do not stand out of the noise: below ${dbc(high).toFixed(1)} dBc; ten times the readings show harmonics 10 dB lower`,
    };
  return {
    value: dbc(value),
    low: dbc(Math.min(low, value)),
    high: dbc(Math.max(high, value)),
    shares: [{ from: "finite readings", standard: (dbc(high) - dbc(low)) / (2 * 1.96) }],
  };
}

/** Fundamental's line against the largest other one: a fitted harmonic or a line of the residual's spectrum. */
function sfdrOf(
  distortion: Distortion | null,
  spur: Spur | null,
  tonePower: number,
  spectrum: ToneSpectrum,
): [Part, string] {
  const lines = [
    ...(distortion?.harmonics ?? []).map((h) => ({
      name: `harmonic ${h.line.order}`,
      power: h.lowAsLargest > 0 ? h.power : h.seen,
      low: h.lowAsLargest,
      high: h.high,
      stands: h.lowAsLargest > 0 && h.power > 0,
    })),
    ...(spur
      ? [{ name: `a line at ${spur.frequency.toPrecision(4)} cycles a reading`, ...spur, stands: spur.standsOut }]
      : []),
  ];
  const how = `harmonics by fit, other lines by ${spectrum.segments === 1 ? "the spectrum" : `${spectrum.segments} averaged spectra of ${spectrum.length} readings`} of the residual (${spectrum.window} window)`;
  if (lines.length === 0)
    return [
      { value: null, low: null, high: null, reason: "the record is too short for a spectrum beside the tone" },
      how,
    ];
  const standing = lines.filter((l) => l.stands);
  const of = standing.length > 0 ? standing : lines;
  const largest = of.reduce((a, b) => (b.power > a.power ? b : a));
  const low = -decibels(Math.max(...lines.map((l) => l.high)) / tonePower);
  const value = -decibels(largest.power / tonePower);
  if (standing.length === 0)
    return [
      { value, low: Math.min(low, value), high: null },
      `no line stands out of the noise, so this is the noise's own largest line and a lower bound; ${how}`,
    ];
  const high = -decibels(Math.max(...standing.map((l) => l.low)) / tonePower);
  return [
    {
      value,
      low: Math.min(low, value),
      high: Math.max(high, value),
      shares: [{ from: "finite readings", standard: (high - low) / (2 * 1.96) }],
    },
    `against ${largest.name}; ${how}`,
  ];
}
