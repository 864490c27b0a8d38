import type { MetricName } from "../bench/metrics.ts";
import type { ResultFigure } from "../result.ts";
import type { Column } from "./columns.ts";
import type { ComparedColumn, ComparedMetric } from "./comparison.ts";
import { difference } from "./difference.ts";
import { brief, phraseDifference, phraseRate } from "./phrase.ts";
import { magnitudeOf } from "./restate.ts";

/** What a person asks of a setting, each with the metrics that answer it, the most telling first: one of each goes into the sentence. */
const QUESTIONS: readonly (readonly Telling[])[] = [
  ["enob", "sinad", "enobAtLevel"],
  ["noiseRms", "effectiveResolution", "codeRms", "snr"],
  ["thd", "sfdr"],
  ["totalUnadjustedError", "offsetError", "offsetAtLow", "gainError"],
  ["inl", "dnl", "missingCodes"],
  ["hysteresis", "drift", "crosstalk"],
];

const NAMES: Partial<Record<Telling, string>> = {
  noiseRms: "rms noise",
  codeRms: "rms spread of the codes",
  effectiveResolution: "effective resolution",
  enobAtLevel: "ENOB at its level",
  totalUnadjustedError: "total unadjusted error",
  offsetError: "offset error",
  offsetAtLow: "offset at the bottom",
  gainError: "gain error",
  missingCodes: "missing codes",
  hysteresis: "hysteresis",
  drift: "drift",
  crosstalk: "crosstalk",
};

/** A metric's name in a sentence; the others are abbreviations. */
function inSentence(metric: Telling): string {
  return NAMES[metric] ?? metric.toUpperCase();
}

/**
 * Which setting, and is it worth it: one sentence or two, with what changed most tellingly, what it costs in rate, and whether averaging the faster
 * setting would bring as much in the same time.
 */
export function answer(reference: Column, others: readonly ComparedColumn[]): string {
  const ranked = [...others].sort(
    (a, b) => score(b) - score(a) || (b.column.rate?.value ?? 0) - (a.column.rate?.value ?? 0),
  );
  const best = ranked[0]!;
  const text = pairAnswer(reference, best);
  if (others.length === 1) return text;
  const rest = ranked.slice(1).map((c) => `${c.column.label}: ${inBrief(c)}`);
  const lead = score(best) > 0 ? "" : `None of ${others.length} is better than ${reference.label}. `;
  return `${lead}${text} Against ${reference.label} the others: ${rest.join("; ")}.`;
}

/** Questions answered better, less those answered worse. */
function score(column: ComparedColumn): number {
  const { better, worse } = tellings(column);
  return better.length - worse.length;
}

function inBrief(column: ComparedColumn): string {
  const { better, worse } = tellings(column);
  if (better.length + worse.length === 0) return "no difference beyond the uncertainty";
  const part = (word: string, rows: readonly TellingRow[]): string[] =>
    rows.length === 0 ? [] : [`${word} in ${rows.map((r) => inSentence(r.metric)).join(", ")}`];
  return [...part("better", better), ...part("worse", worse)].join(", ");
}

type Telling = MetricName | "inl" | "dnl";
type TellingRow = Pick<ComparedMetric, "difference" | "unit" | "change"> & { readonly metric: Telling };

/** The first metric of each question that changed by more than its uncertainty. */
function tellings({ metrics }: ComparedColumn): { better: TellingRow[]; worse: TellingRow[] } {
  const rows: TellingRow[] = [...metrics, ...eitherSign(metrics, "inl"), ...eitherSign(metrics, "dnl")];
  const found = { better: [] as TellingRow[], worse: [] as TellingRow[] };
  for (const question of QUESTIONS) {
    for (const change of ["better", "worse"] as const) {
      const row = question.map((name) => rows.find((m) => m.metric === name && m.change === change)).find(Boolean);
      if (row !== undefined) found[change].push(row);
    }
  }
  return found;
}

/** INL or DNL of either sign, the larger magnitude of both ends, so that a curve which only turned over is neither better nor worse. */
function eitherSign(metrics: readonly ComparedMetric[], which: "inl" | "dnl"): TellingRow[] {
  return metrics.flatMap((max): TellingRow[] => {
    if (max.metric !== `${which}Max` || max.change === "not comparable") return [];
    const min = metrics.find((m) => m.metric === `${which}Min` && m.capture === max.capture);
    const first = larger(max.first, min?.first);
    const second = larger(max.second, min?.second);
    if (first === null || second === null) return [];
    const d = difference(first, second);
    const change =
      d.low !== null && d.low > 0 ? "worse" : d.high !== null && d.high < 0 ? "better" : "within uncertainty";
    return [{ metric: which, difference: d, unit: max.unit, change }];
  });
}

function larger(a: ResultFigure | null, b: ResultFigure | null | undefined): ResultFigure | null {
  if (a == null || b == null || a.value === null || b.value === null) return null;
  return magnitudeOf(Math.abs(a.value) >= Math.abs(b.value) ? a : b);
}

function named(rows: readonly TellingRow[], turned = false): string {
  const turn = (x: number | null): number | null => (x === null ? null : -x);
  return rows
    .map(({ metric, difference: d, unit }) => {
      const said = turned
        ? { value: turn(d.value), low: turn(d.high), high: turn(d.low), uncertainty: d.uncertainty }
        : d;
      return `${inSentence(metric)} ${phraseDifference(said, unit)}`;
    })
    .join(", ");
}

function pairAnswer(reference: Column, other: ComparedColumn): string {
  const { better, worse } = tellings(other);
  const [a, b] = [reference.label, other.column.label];
  if (other.metrics.every((m) => m.change === "not comparable"))
    return `${a} and ${b} cannot be compared: no metric is known in both with its uncertainty.`;
  if (better.length === 0 && worse.length === 0)
    return `No difference between ${a} and ${b} is larger than its uncertainty${rateAside(reference, other.column)}.`;
  if (worse.length === 0) return `${b} is better than ${a}: ${named(better)}${cost(reference, other, "other")}.`;
  if (better.length === 0)
    return `${a} is better than ${b}: ${named(worse, true)}${cost(reference, other, "reference")}.`;
  return `${b} is better in ${named(better)}, but worse in ${named(worse)}${rateAside(reference, other.column)}: choose by what the application needs.`;
}

/** The ratio of two rates that can be compared: both by timing or both by sample rate. */
function rates(reference: Column, other: Column): { reference: number; other: number; by: string } | null {
  const { rate: a } = reference;
  const { rate: b } = other;
  return a === null || b === null || a.basis !== b.basis
    ? null
    : { reference: a.value, other: b.value, by: a.basis === "timing" ? " by the converter's timing" : "" };
}

function rateAside(reference: Column, other: Column): string {
  const r = rates(reference, other);
  if (r === null) return "";
  const ratio = r.other / r.reference;
  if (Math.abs(ratio - 1) < 0.005) return `; both give ${phraseRate(r.reference)}${r.by}`;
  const faster = ratio > 1 ? other.label : reference.label;
  return `; ${faster} is ${brief(Math.max(ratio, 1 / ratio), 3)} times as fast (${phraseRate(Math.max(r.other, r.reference))} against ${phraseRate(Math.min(r.other, r.reference))})`;
}

/** What the better one costs in rate, and whether it is worth that. */
function cost(reference: Column, other: ComparedColumn, winner: "reference" | "other"): string {
  const r = rates(reference, other.column);
  if (r === null)
    return "; what it costs in rate is not known (give both captures a sampleRate, or the converter its clock and cycles)";
  const [won, lost] = winner === "other" ? [r.other, r.reference] : [r.reference, r.other];
  const slower = winner === "other" ? other.column.label : reference.label;
  const faster = winner === "other" ? reference.label : other.column.label;
  const ratio = lost / won;
  if (Math.abs(ratio - 1) < 0.005) return `, at the same rate (${phraseRate(won)}${r.by}), so it costs nothing`;
  if (ratio < 1)
    return `, and it is faster as well (${phraseRate(won)} against ${phraseRate(lost)}), so it costs nothing`;
  const price = `. It gives ${brief(100 / ratio, 2)} % of the rate (${phraseRate(won)} against ${phraseRate(lost)})`;
  return `${price}: ${worth(other, winner, ratio, slower, faster)}`;
}

/**
 * Averaging `ratio` readings of the faster setting in the time of one of the slower divides white noise by √ratio: half a bit for each doubling.
 * Source: CHECKS 6, N8 (four readings a bit).
 */
function worth(
  other: ComparedColumn,
  winner: "reference" | "other",
  ratio: number,
  slower: string,
  faster: string,
): string {
  const bits = 0.5 * Math.log2(ratio);
  const readings = `averaging ${brief(ratio, 2)} readings of ${faster} in the same time would bring`;
  const condition = "where its noise is white and at least half an LSB";
  const gain = resolutionGain(other, winner);
  if (gain === null) return `worth it where ${slower}'s rate is enough`;
  const said = `${brief(bits)} bit ${condition}`;
  if (gain.low !== null && gain.low > bits) return `worth it where that is enough, since ${readings} only ${said}`;
  if (gain.high !== null && gain.high < bits)
    return `hardly worth it for resolution, since ${readings} ${said}, more than the ${brief(gain.value)} bit gained`;
  return `about even for resolution, since ${readings} ${said}`;
}

/** What the winner gains in resolution, in bits, from noise or else from ENOB. */
function resolutionGain(
  { metrics }: ComparedColumn,
  winner: "reference" | "other",
): { value: number; low: number | null; high: number | null } | null {
  const noise = metrics.find((m) => m.metric === "noiseRms");
  if (noise?.first?.value && noise.second?.value) {
    const [won, lost] = winner === "other" ? [noise.second, noise.first] : [noise.first, noise.second];
    const ratio = (a: number | null, b: number | null): number | null =>
      a === null || b === null || !(a > 0) || !(b > 0) ? null : Math.log2(a / b);
    const value = ratio(lost.value, won.value)!;
    // Both intervals' far ends at once: wider than the joint interval, so that "worth it" is not said too early.
    return { value, low: ratio(lost.low, won.high), high: ratio(lost.high, won.low) };
  }
  const enob = metrics.find((m) => m.metric === "enob");
  if (enob?.difference.value == null) return null;
  const { value, low, high } = enob.difference;
  const minus = (x: number | null): number | null => (x === null ? null : -x);
  return winner === "other" ? { value, low, high } : { value: -value, low: minus(high), high: minus(low) };
}
