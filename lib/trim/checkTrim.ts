import type { PinStimulus } from "../bench/pinStimulus.ts";
import { codeOfVoltage, voltageOfCode } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import { halfWidth } from "../judge/coverage.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { measureSteps } from "../measure/steps.ts";
import { fitLine } from "../signal/linearFit.ts";
import { seededRandom } from "../signal/random.ts";
import { fitSine } from "../signal/sineFit.ts";
import { ALL_CODES } from "../signal/usableCodes.ts";
import { lineUncertainty } from "./chooseCapture.ts";
import type { Trim } from "./trim.ts";

/** How far readings are off at a known voltage, before and after the correction. */
export interface CheckPoint {
  readonly applied: Volts;
  /** Mean reading minus applied, in LSB. */
  readonly before: Lsb;
  readonly after: Lsb;
  /** How well this capture knows `before` and `after`, about 95 %: its readings and its source's limits. */
  readonly uncertainty: Lsb;
  /** What the trim says may be left here: its constants' uncertainty and its residual over every code. */
  readonly claimed: Lsb;
}

export interface TrimCheck {
  readonly points: readonly CheckPoint[];
  readonly readings: number;
  readonly stimulus: PinStimulus["kind"];
  /** Largest magnitudes over the points. */
  readonly before: Lsb;
  readonly after: Lsb;
  /**
   * confirmed: at every point what is left lies inside what the trim claims, within this capture's uncertainty; refuted: at some
   * point it lies outside; undecided: this capture could not have told, its own uncertainty being larger than the error before.
   */
  readonly decision: "confirmed" | "refuted" | "undecided";
  readonly reason: string;
}

/**
 * Runs a second capture through the correction and compares it with what was applied.
 * @param record   the second capture, of the same converter setting
 * @param correct  a code through the firmware's arithmetic
 * @returns null and a reason when the bench does not say what was applied, or the record cannot be compared with it
 */
export function checkTrim(
  record: MatchedRecord,
  trim: Trim,
  correct: (code: number) => number,
): { check: TrimCheck | null; reason: string } {
  const { stimulus } = record;
  if (stimulus === null) return { check: null, reason: "the bench file does not say what was applied to it" };
  const corrected: MatchedRecord = { ...record, codes: record.codes.map(correct) };
  const found = errorsOf(record, corrected, stimulus);
  if (typeof found === "string") return { check: null, reason: found };
  const { scale } = record;
  const fixedPart = trim.table === null ? trim.residual.fixed.max : (trim.residual.table ?? trim.residual.fixed).max;
  const points = found.map((p): CheckPoint => {
    const byLine = lineUncertainty(trim.source, codeOfVoltage(scale, p.applied)) ?? 0;
    return {
      applied: p.applied,
      before: p.before / scale.lsb,
      after: p.after / scale.lsb,
      uncertainty: uncertaintyAt(stimulus, p.applied, p.standard) / scale.lsb,
      claimed: byLine + fixedPart,
    };
  });
  const before = Math.max(...points.map((p) => Math.abs(p.before)));
  const after = Math.max(...points.map((p) => Math.abs(p.after)));
  const outside = points.filter((p) => Math.abs(p.after) > p.claimed + p.uncertainty);
  const blind = points.every((p) => p.uncertainty > Math.abs(p.before) && p.uncertainty > p.claimed);
  const base = { points, readings: record.codes.length, stimulus: stimulus.kind, before, after };
  if (outside.length > 0) {
    const worst = outside.reduce((a, b) => (Math.abs(b.after) - b.claimed > Math.abs(a.after) - a.claimed ? b : a));
    const reason = `at ${worst.applied.toPrecision(5)} V ${worst.after.toFixed(2)} LSB are left, more than the claimed ${worst.claimed.toFixed(2)} and this capture's ±${worst.uncertainty.toFixed(2)} LSB together`;
    return { check: { ...base, decision: "refuted", reason }, reason };
  }
  if (blind) {
    const reason = "this capture knows its own voltages less well than the error that the trim takes out";
    return { check: { ...base, decision: "undecided", reason }, reason };
  }
  const reason = `at every point what is left stays inside what the trim claims, within this capture's uncertainty`;
  return { check: { ...base, decision: "confirmed", reason }, reason };
}

interface PointError {
  readonly applied: Volts;
  readonly before: Volts;
  readonly after: Volts;
  readonly standard: Volts;
}

function errorsOf(raw: MatchedRecord, corrected: MatchedRecord, stimulus: PinStimulus): PointError[] | string {
  switch (stimulus.kind) {
    case "steady":
      return steadyError(raw, corrected, stimulus.voltage);
    case "steps":
      return stepErrors(raw, corrected);
    case "sine":
      return sineErrors(raw, corrected, stimulus.amplitude, stimulus.offset);
    case "ramp":
      return rampErrors(raw, corrected, stimulus.from, stimulus.to);
    case "triangle":
      return "a triangle is not compared reading by reading; log steady voltages, steps, a ramp or a sine";
  }
}

function steadyError(raw: MatchedRecord, corrected: MatchedRecord, voltage: Volts | null): PointError[] | string {
  if (voltage === null) return "the steady voltage is not stated (stimulus.voltage)";
  const { scale } = raw;
  const before = meanOf(raw.codes);
  const after = meanOf(corrected.codes);
  return [
    {
      applied: voltage,
      before: voltageOfCode(scale, before.mean) - voltage,
      after: voltageOfCode(scale, after.mean) - voltage,
      // A quiet converter sits on one code: its mean is known to a code's width only.
      standard: scale.lsb * Math.max(before.sd / Math.sqrt(raw.codes.length), before.sd < 0.3 ? 1 / Math.sqrt(12) : 0),
    },
  ];
}

function meanOf(codes: Int32Array): { mean: number; sd: number } {
  let sum = 0;
  for (const code of codes) sum += code;
  const mean = sum / codes.length;
  let squares = 0;
  for (const code of codes) squares += (code - mean) ** 2;
  return { mean, sd: codes.length > 1 ? Math.sqrt(squares / (codes.length - 1)) : 0 };
}

function stepErrors(raw: MatchedRecord, corrected: MatchedRecord): PointError[] | string {
  const before = measureSteps(raw, seededRandom(1)).curves.steps?.points ?? [];
  const after = measureSteps(corrected, seededRandom(1)).curves.steps?.points ?? [];
  const { scale } = raw;
  const points = before.flatMap((b, i): PointError[] => {
    const a = after[i];
    // A level at a rail has lost its input; it says nothing about the correction.
    if (a === undefined || b.inl === null || a.applied !== b.applied) return [];
    return [
      {
        applied: b.applied,
        before: voltageOfCode(scale, b.meanCode) - b.applied,
        after: voltageOfCode(scale, a.meanCode) - b.applied,
        standard: scale.lsb * Math.max(b.standard, a.standard),
      },
    ];
  });
  return points.length > 0 ? points : "no level of it lies inside the code range";
}

/** The fitted sine against the stated one, at the bottom, the middle and the top of its swing (as far as the converter reaches). */
function sineErrors(
  raw: MatchedRecord,
  corrected: MatchedRecord,
  amplitude: Volts | null,
  offset: Volts | null,
): PointError[] | string {
  if (amplitude === null || offset === null) return "the sine's amplitude and offset are not both stated";
  const { scale, fit } = raw;
  if (fit === null) return "no sine was found in it";
  const onRail = (code: number): boolean => code <= 0 || code >= scale.topCode;
  const rails = raw.codes.some(onRail);
  const [first, last] = longest(raw);
  const fitted = [raw.codes, corrected.codes].map((codes) => {
    const used = rails ? withoutRails(raw.codes, codes, onRail) : codes;
    return fitSine(used, {
      frequency: fit.cyclesPerReading,
      first,
      last,
      ...(rails ? { usable: { ...ALL_CODES, floor: RAIL } } : {}),
    });
  });
  const [before, after] = fitted;
  if (!before || !after) return "no sine was found in it";
  const low = Math.max(offset - amplitude, voltageOfCode(scale, 1));
  const high = Math.min(offset + amplitude, voltageOfCode(scale, scale.topCode - 1));
  return [low, (low + high) / 2, high].map((volts) => {
    const swing = amplitude === 0 ? 0 : (volts - offset) / amplitude;
    const error = (f: typeof before): Volts => voltageOfCode(scale, f.offset) + swing * f.amplitude * scale.lsb - volts;
    return {
      applied: volts,
      before: error(before),
      after: error(after),
      standard: scale.lsb * Math.hypot(before.standard.offset, swing * before.standard.amplitude),
    };
  });
}

/** Marks a reading whose raw code stood at a rail, whatever the correction made of it. */
const RAIL = -(2 ** 31);

function withoutRails(raw: Int32Array, codes: Int32Array, onRail: (code: number) => boolean): Int32Array {
  return codes.map((code, n) => (onRail(raw[n]!) ? RAIL : code));
}

function longest(record: MatchedRecord): readonly [number, number] {
  return record.clean.reduce(
    (best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best),
    record.clean[0] ?? [0, record.codes.length - 1],
  );
}

/** A straight line through the readings that are not at a rail, against the stated ramp, at both ends and in the middle. */
function rampErrors(raw: MatchedRecord, corrected: MatchedRecord, from: Volts, to: Volts): PointError[] | string {
  const { scale, codes } = raw;
  const M = codes.length;
  const applied: Volts[] = [];
  const before: number[] = [];
  const after: number[] = [];
  for (let n = 0; n < M; n++) {
    if (codes[n]! <= 0 || codes[n]! >= scale.topCode) continue;
    applied.push(from + ((to - from) * n) / Math.max(1, M - 1));
    before.push(voltageOfCode(scale, codes[n]!));
    after.push(voltageOfCode(scale, corrected.codes[n]!));
  }
  if (applied.length < 3 || applied[0] === applied.at(-1)) return "fewer than three readings lie inside the code range";
  const b = fitLine(applied, before);
  const a = fitLine(applied, after);
  const ends = [applied[0]!, applied.at(-1)!];
  return [Math.min(...ends), (ends[0]! + ends[1]!) / 2, Math.max(...ends)].map((volts) => ({
    applied: volts,
    before: b.meanY + b.slope * (volts - b.meanX) - volts,
    after: a.meanY + a.slope * (volts - a.meanX) - volts,
    standard: Math.hypot((b.residualSd ?? 0) / Math.sqrt(applied.length), (b.slopeSd ?? 0) * (volts - b.meanX)),
  }));
}

/** The capture's readings and its source's stated limits at a voltage, convolved; volts. */
function uncertaintyAt(stimulus: PinStimulus, applied: Volts, standard: Volts): Volts {
  const limits = stimulus.limits.map((l) =>
    l.kind === "shift" ? l.halfWidth : l.halfWidth * Math.abs(applied - l.pivot),
  );
  return halfWidth(standard, [...limits, stimulus.linearity, stimulus.repeatability]);
}
