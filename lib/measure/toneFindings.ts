import type { Finding } from "../match/finding.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { WINDOWS } from "../signal/windowTable.ts";
import { linePower, type ToneAnalysis } from "./toneAnalysis.ts";
import { decibels } from "./toneInterval.ts";
import type { ToneSpectrum } from "./toneSpectrum.ts";

/** A source's share of a measured power from which it is said: with a quarter of it, the converter alone would be 1.2 dB better. */
const CONSIDERABLE = 0.25;

/** From here on the source could explain most of what was measured: a warning. Below it, or against a mere bound, a note. */
const MOST = 0.5;

/** What the stated purity of the source could explain of distortion and noise. */
export function sourceFinding(
  { stimulus }: MatchedRecord,
  tonePower: number,
  distortion: { readonly value: number | null; readonly high: number | null },
  noise: number | null,
): Finding | null {
  if (stimulus?.kind !== "sine") return null;
  const { thd, snr } = stimulus.purity;
  const parts: string[] = [];
  let most = false;
  const seen = distortion.value ?? distortion.high;
  const ofThd = thd === null || seen === null ? 0 : (tonePower * 10 ** (thd / 10)) / seen;
  if (seen !== null && ofThd >= CONSIDERABLE) {
    if (distortion.value !== null && ofThd >= MOST) most = true;
    const measured = decibels(seen / tonePower).toFixed(1);
    parts.push(
      distortion.value === null
        ? `the source's own THD is stated as ${thd} dBc, and all harmonics measured lie below ${measured} dBc`
        : `the source's own THD is stated as ${thd} dBc, and ${measured} dBc was measured`,
    );
  }
  const ofSnr = snr === null || noise === null ? 0 : (tonePower * 10 ** (-snr / 10)) / noise;
  if (noise !== null && ofSnr >= CONSIDERABLE) {
    if (ofSnr >= MOST) most = true;
    parts.push(
      `the source's own SNR is stated as ${snr} dB, and ${decibels(tonePower / noise).toFixed(1)} dB was measured`,
    );
  }
  if (parts.length === 0) return null;
  const text = parts.join("; ");
  return {
    id: "source-limited",
    severity: most ? "warning" : "note",
    text: `${text.charAt(0).toUpperCase()}${text.slice(1)}.`,
    cause: "What the source adds cannot be told from what the converter adds.",
    advice: "Use a cleaner source, or a low-pass or band-pass filter between source and converter.",
    readings: [],
    nulls: [],
  };
}

/** Decibels by which the two routes may differ beside their scatter: the windows' own limits. */
const SLACK = 0.1;

/** Joint standard deviations: less than one sound record in a thousand. */
const APART = 3.5;
/** Lobes of the window that must lie between DC and the tone. */
const APART_LOBES = 4;

/** Distortion of orders above 10 may lie under the window's lobes as well: about this share of what orders 2 to 10 hold. */
const HIGHER_ORDERS = 0.1;

/**
 * Power of lines that the two routes treat unlike by nature: harmonics under the lobes of tone and DC, which the spectrum leaves out and
 * makes up for.
 */
function uneven(analysis: ToneAnalysis, { length, nadWindow }: ToneSpectrum): number {
  const reach = (WINDOWS[nadWindow].lobe + 1) / length;
  const tone = analysis.fit.cyclesPerReading;
  let sum = 0;
  for (const line of analysis.harmonics?.lines ?? []) {
    const power = Math.max(0, linePower(line, analysis.scatter.ofResidual));
    const under = line.frequency < reach || Math.abs(line.frequency - tone) < reach;
    sum += under ? power : HIGHER_ORDERS * power;
  }
  return sum;
}

/** SINAD by the time-domain fit against SINAD by the windowed spectrum. */
export function routesFinding(analysis: ToneAnalysis, spectrum: ToneSpectrum): Finding | null {
  const { nad, nadVariance, tonePower } = analysis;
  if (spectrum.nad === null || !(nad > 0) || !(spectrum.nad > 0)) return null;
  // Where the window's lobes about DC and the tone take up most of what lies between, noise that falls with frequency hides there without any fault.
  const { fit } = analysis;
  if (
    Math.min(fit.cyclesPerReading, 0.5 - fit.cyclesPerReading) * spectrum.length <
    APART_LOBES * WINDOWS[spectrum.nadWindow].lobe
  )
    return null;
  const byFit = decibels(tonePower / nad);
  const bySpectrum = decibels(tonePower / spectrum.nad);
  const relative = nadVariance / nad ** 2;
  const joint = (10 / Math.LN10) * Math.sqrt(relative * (1 + spectrum.nadVarianceFactor));
  const difference = bySpectrum - byFit;
  if (Math.abs(difference) <= APART * joint + SLACK + decibels(1 + uneven(analysis, spectrum) / nad)) return null;
  return {
    id: "routes-disagree",
    severity: "warning",
    text: `SINAD is ${byFit.toFixed(2)} dB by the sine fit and ${bySpectrum.toFixed(2)} dB by the spectrum (${spectrum.nadWindow} window, ${spectrum.segments} ${spectrum.segments === 1 ? "segment" : "segments"} of ${spectrum.length}); their joint uncertainty is ${(2 * joint).toFixed(2)} dB.`,
    cause:
      difference > 0
        ? "Drift, mains pickup or a tone whose frequency or level wanders: the fit counts it, the spectrum hides it beside DC and the tone."
        : "The record is not alike from beginning to end: a disturbance where the window looks hardest.",
    advice:
      "Look at the residual over time and at the spectrum beside the tone; take the capture again in shorter pieces.",
    readings: [],
    nulls: [],
  };
}
