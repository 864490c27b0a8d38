import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { brokenPhase } from "./brokenPhase.ts";
import { clippedEnds, clipping, plateaus } from "./clipping.ts";
import { codeMeaning } from "./codeMeaning.ts";
import { codesOutside } from "./codeSpan.ts";
import { coherence } from "./coherence.ts";
import { constantBits } from "./constantBits.ts";
import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { countedGaps } from "./countedGaps.ts";
import { crosstalkPresent } from "./crosstalkPresent.ts";
import { coursesOf, drifting } from "./drifting.ts";
import type { Finding, FindingId } from "./finding.ts";
import { fitStretch, referenceFit } from "./fitRecord.ts";
import { triangleFrequency } from "./frequencyMismatch.ts";
import { lossEvents } from "./lossEvents.ts";
import { lostAtEachTurn } from "./lostAtEachTurn.ts";
import { mainsHum } from "./mainsHum.ts";
import { mainsLines } from "./mainsLines.ts";
import type { MatchedRecord } from "./matched.ts";
import { misplacedCodes } from "./misplacedCodes.ts";
import { otherMismatch } from "./otherMismatch.ts";
import { isUpsetOnly } from "./otherThanJumps.ts";
import { outliers } from "./outliers.ts";
import { periodicLoss } from "./periodicLoss.ts";
import { pinSafety } from "./pinSafety.ts";
import { rangeExercised } from "./rangeExercised.ts";
import { rateMismatch } from "./rateMismatch.ts";
import { cleanStretches, readingsLost, readingsRepeated } from "./readingsLost.ts";
import { recordLength } from "./recordLength.ts";
import { rateEvidence, rateLimit, sampleRate } from "./sampleRate.ts";
import { skippedLines } from "./skippedLines.ts";
import { slowSettling } from "./slowSettling.ts";
import { staleInSweep } from "./staleInSweep.ts";
import { staleReadings } from "./staleReadings.ts";
import { survey } from "./survey.ts";
import { movingCodes, triangleModel } from "./sweepModel.ts";
import { telegraphNoise } from "./telegraphNoise.ts";
import { toneMismatch } from "./toneMismatch.ts";
import { unevenSampling } from "./unevenSampling.ts";
import { withoutEnds, withoutRails } from "./usableCodes.ts";
import { wanderingJumps } from "./wanderingJumps.ts";
import { wanderingPhase } from "./wanderingPhase.ts";

/** Families that hold whatever the codes mean. */
const ABOUT_THE_LOG: readonly Detector[] = [skippedLines, unevenSampling, rateMismatch, pinSafety];
/** Families that need codes that mean what the bench file says. */
const ABOUT_THE_SIGNAL: readonly Detector[] = [
  clipping,
  rangeExercised,
  toneMismatch,
  triangleFrequency,
  otherMismatch,
  outliers,
  mainsHum,
  telegraphNoise,
  drifting,
  slowSettling,
  crosstalkPresent,
  coherence,
  recordLength,
  wanderingPhase,
];

/**
 * Compares a record with its bench: sample rate, the sine where the stimulus is one, what is wrong with the capture, and which stretches of it are sound.
 * Nothing is repaired: damaged readings are left out through `clean`, and metrics that a finding makes worthless are named by it.
 */
export function matchRecord(record: CaptureRecord): MatchedRecord {
  const seen = survey(record);
  const whole: readonly Stretch[] = [[0, Math.max(0, record.codes.length - 1)]];
  const nothing = { fit: null, clean: whole, ends: [], usable: null, triangle: null };
  if (record.codes.length === 0) return finish(record, seen, nothing, []);
  const rails = withoutRails(seen, record.scale.topCode);
  const first = referenceFit(record, rails);
  const format = codeFormat(record, seen, first);
  if (format.length > 0) return finish(record, seen, { ...nothing, fit: first }, format);

  // A plateau would spoil the fit, the rails do not: they are left out from the beginning.
  const ends = clippedEnds(record, seen, first);
  const usable = withoutEnds(rails, ends, seen);
  const reference = usable === rails || ends.every((e) => e.isRail) ? first : referenceFit(record, usable);

  const periodic =
    countedGaps(record).length > 0 ? null : periodicLoss(record, fitStretch(record, usable, whole[0]!), usable);
  if (periodic !== null) {
    const matched = finish(record, seen, { fit: null, triangle: null, clean: whole, ends, usable }, [
      lostAtEachTurn(record, periodic),
    ]);
    // Stamps too coarse to count the losses show them as uneven intervals and a lower mean rate: the same fault, named already.
    const same = record.log.time === null ? [] : ["uneven-sampling", "rate-mismatch"];
    return { ...matched, findings: matched.findings.filter((f) => !same.includes(f.id)) };
  }
  const found = lossEvents(record, seen, reference, usable);
  const wandering = wanderingJumps(found, record.codes.length);
  const events = wandering === null ? found : [];
  const between = cleanStretches(record.codes.length, events);
  const fit =
    events.length > 0 || reference?.readings !== record.codes.length
      ? fitStretch(record, usable, longest(between))
      : reference;
  const stale = fit === null ? staleOfSweep(record, seen) : staleReadings(record.codes, usable, fit, between);
  const clean = withoutStale(between, stale);
  const triangle = triangleModel(record, movingCodes(record, seen), longest(clean));
  const isListed = record.stimulus?.kind === "steps" && record.appliedVolts === null;
  const lost = readingsLost(
    events,
    fit,
    isListed ? "listed levels" : record.stimulus?.kind === "ramp" ? "ramp" : "stretches",
  );
  const isAccounted = found.length > 0 || stale.length > 0 || isUpsetOnly(record, usable);
  const broken = isAccounted ? [] : brokenPhase(record, reference, usable);
  const damage = [...lost, ...(wandering === null ? [] : [wandering]), ...broken, ...readingsRepeated(events, stale)];
  // The sine through a record whose phase is broken everywhere says nothing about the tone.
  if (broken.length > 0) return finish(record, seen, { ...nothing, ends, usable }, damage);
  return finish(record, seen, { fit, clean, ends, usable, triangle }, damage, true);
}

function staleOfSweep(record: CaptureRecord, seen: MatchContext["seen"]): Stretch[] {
  const kind = record.stimulus?.kind;
  if ((kind !== "ramp" && kind !== "triangle") || plateaus(record, seen).length > 0) return [];
  return staleInSweep(record.codes, movingCodes(record, seen), kind === "ramp", converterLsb(record));
}

/** The first family that explains the codes: several would only name the same fault twice. */
function codeFormat(record: CaptureRecord, seen: MatchContext["seen"], fit: MatchContext["fit"]): readonly Finding[] {
  for (const family of [
    () => codesOutside(record, seen),
    () => constantBits(record, seen),
    () => codeMeaning(record, seen, fit),
    () => misplacedCodes(record, seen, fit),
  ]) {
    const findings = family();
    if (findings.length > 0) return findings;
  }
  return [];
}

function finish(
  record: CaptureRecord,
  seen: MatchContext["seen"],
  found: Pick<MatchContext, "fit" | "clean" | "ends" | "usable" | "triangle">,
  first: readonly Finding[],
  isReadable = false,
): MatchedRecord {
  const { fit, clean } = found;
  const evidence = rateEvidence(record, fit);
  const rate = sampleRate(record.spec, evidence);
  // Codes that do not mean what the bench says make a sine that says nothing about volts.
  const courses =
    isReadable && fit !== null && clean.length === 1 ? coursesOf(record, fit, clean[0]!, found.usable) : [];
  const readable = { record, seen, rate, evidence, courses, ...found, fit: isReadable ? fit : null };
  const hum = isReadable ? mainsLines(readable) : null;
  const context: MatchContext = { ...readable, hum };
  const isUneven = first.some((f) => f.id === "uneven-sampling");
  const families = isReadable ? [...ABOUT_THE_SIGNAL, ...ABOUT_THE_LOG] : ABOUT_THE_LOG;
  const all = [
    ...first,
    ...families.filter((detect) => !isUneven || detect !== wanderingPhase).flatMap((detect) => detect(context)),
  ];
  const isFlattened = all.some((f) => f.id === "clipped");
  const same = isFlattened ? followingFlattening(record, found.ends) : [];
  const findings = all.filter((f) => !same.includes(f.id));
  return { ...record, sampleRate: rate, rateLimit: rateLimit(rate), fit, clean, hum, findings };
}

/**
 * What only follows from a flattening, and is no second fault: the codes that a ramp or triangle leaves out; and the size and the remainder of a sine that is compressed
 * without a plateau, of which nothing can be left out of the fit.
 */
function followingFlattening({ stimulus }: CaptureRecord, ends: MatchContext["ends"]): readonly FindingId[] {
  if (stimulus?.kind !== "sine") return ["range-not-exercised"];
  if (ends.some((e) => !e.isRail)) return ["mains-hum"];
  return ends.length > 0
    ? []
    : ["amplitude-mismatch", "offset-mismatch", "outliers", "mains-hum", "telegraph-noise", "drifting"];
}

/** A few stale readings are cut out; many would leave no stretch worth measuring, and stay in. */
const MOST_CUT = 20;

function withoutStale(clean: readonly Stretch[], stale: readonly Stretch[]): readonly Stretch[] {
  if (stale.length === 0 || stale.length > MOST_CUT) return clean;
  return clean.flatMap(([first, last]) => {
    const parts: Stretch[] = [];
    let start = first;
    for (const [n] of stale) {
      if (n < start || n > last) continue;
      if (n - start >= 8) parts.push([start, n - 1]);
      start = n + 1;
    }
    if (last - start >= 7) parts.push([start, last]);
    return parts;
  });
}

function longest(stretches: readonly Stretch[]): Stretch {
  return stretches.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
}
