import type { CaptureRecord } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { MatchedRecord } from "./matched.ts";
import { rateEvidence, rateLimit, sampleRate } from "./sampleRate.ts";
import { type Survey, survey } from "./survey.ts";

/**
 * Compares a record with its bench: sample rate, the sine where the stimulus is one, what is wrong with the capture, and which stretches of it are sound.
 * Nothing is repaired: damaged readings are left out through `clean`, and metrics that a finding makes worthless are named by it.
 */
export function matchRecord(record: CaptureRecord): MatchedRecord {
  const seen = survey(record);
  const fit = fitRecord(record, seen);
  const evidence = rateEvidence(record, fit);
  const rate = sampleRate(record.spec, evidence);
  return {
    ...record,
    sampleRate: rate,
    rateLimit: rateLimit(rate),
    fit,
    clean: [[0, Math.max(0, record.codes.length - 1)]],
    findings: [],
  };
}

/** The sine of a record whose stimulus is one, rails left out; null where no sine stands out of what is left. */
function fitRecord(record: CaptureRecord, seen: Survey): SineFit | null {
  if (record.stimulus?.kind !== "sine" || record.codes.length < 5) return null;
  const top = record.scale.topCode;
  const railed = seen.atBottom + seen.atTop > 0;
  const fit = fitSine(record.codes, railed ? { exclude: (code) => code <= 0 || code >= top } : {});
  // Less than noise of its own size: the largest line of a record that holds no tone.
  return fit !== null && fit.amplitude > fit.residualRms * Math.sqrt(2) * noToneFactor(fit.readings) ? fit : null;
}

/**
 * The largest of M/2 lines of white noise has a power of about ln(M/2)·4σ²/M; a line of amplitude below 1.5 times that is no tone. False alarms about
 * (M/2)^−1.25, a tone 3 dB above the noise's highest line is kept.
 */
function noToneFactor(readings: number): number {
  return 1.5 * Math.sqrt((2 * Math.log(Math.max(2, readings / 2))) / readings);
}
