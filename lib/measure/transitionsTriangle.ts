import type { MatchedRecord } from "../match/matched.ts";
import { fitTriangle, type TriangleFit } from "../signal/triangleFit.ts";
import { type PhaseStretch, phaseSweep } from "./transitionsPhases.ts";
import type { NoSweep, Sweep } from "./transitionsSweep.ts";
import { linearWaveform } from "./transitionsWaveform.ts";

/** Parts of a record whose phases are compared, at most. */
const PARTS = 24;
/** A part's phase is out of step from this many standard uncertainties on: once in 50 000 records by chance. */
const OUT_OF_STEP = 5.5;

/**
 * Compares the phase of each part of a record, whole cycles long, with the whole record's: lost or repeated readings leave a step that no single fit
 * follows. The converter's own curve has no part in it, because it acts alike on both slopes.
 * @returns the largest departure, as input, where it cannot be chance; null for a steady record, or one of fewer than four cycles
 */
export function steadiness(
  codes: ArrayLike<number>,
  topCode: number,
  first: number,
  last: number,
  fit: TriangleFit,
): { readonly by: number; readonly near: number } | null {
  const cycles = Math.floor(fit.frequency * (last - first + 1));
  if (cycles < 4) return null;
  const each = Math.ceil(cycles / PARTS);
  const length = each / fit.frequency;
  let worst: { by: number; near: number } | null = null;
  for (let part = 0; (part + 1) * each <= cycles; part++) {
    const from = Math.round(first + part * length);
    const to = Math.min(last, Math.round(first + (part + 1) * length) - 1);
    // On a triangle a late phase is a constant: minus on the way up, plus on the way down.
    let sum = 0;
    let square = 0;
    let used = 0;
    for (let n = from; n <= to; n++) {
      const code = codes[n]!;
      if (code <= 0 || code >= topCode) continue;
      const x = fit.frequency * n + fit.start;
      const turn = x - Math.floor(x);
      const rising = turn < 0.5;
      const residual = code - fit.offset - fit.amplitude * (rising ? 4 * turn - 1 : 3 - 4 * turn);
      sum += rising ? residual : -residual;
      square += residual * residual;
      used++;
    }
    if (used < 8) continue;
    const by = Math.abs(sum / used);
    const doubt = Math.sqrt(Math.max(1 / 12, square / used - by * by) / used);
    if (by > OUT_OF_STEP * doubt && by > 0.1 && by > (worst?.by ?? 0)) worst = { by, near: from };
  }
  return worst;
}

/** Lays a triangle record out: phase and frequency by fitTriangle, each clean stretch with a phase of its own; voltages from the stated ends. */
export function triangleSweep(record: MatchedRecord): Sweep | NoSweep {
  const { codes, scale, stimulus, sampleRate, clean } = record;
  if (stimulus?.kind !== "triangle") return { reason: "the stimulus is not a triangle" };
  if (stimulus.low === stimulus.high) return { reason: "the stated triangle has no height" };
  const cycles = stimulus.frequency === null || sampleRate === null ? null : stimulus.frequency / sampleRate.value;
  const known = cycles !== null && cycles > 0 && cycles < 0.5 ? cycles : null;
  const longest = clean.reduce((a, b) => (b[1] - b[0] > a[1] - a[0] ? b : a), clean[0] ?? [0, codes.length - 1]);
  const fit = fitTriangle(codes, scale.topCode, longest[0], longest[1], known);
  if (fit === null)
    return { reason: `no triangle could be fitted to the ${codes.length} readings, so their phases are unknown` };
  if (!(fit.amplitude > 4 * fit.residualRms))
    return {
      reason: `the readings do not follow a triangle: residual ${fit.residualRms.toFixed(1)} LSB rms at an amplitude of ${fit.amplitude.toFixed(1)} LSB`,
    };
  for (const [first, last] of clean) {
    const slip = clean.length === 1 ? steadiness(codes, scale.topCode, first, last, fit) : null;
    if (slip !== null)
      return {
        reason: `the readings lose step with the triangle by ${slip.by.toFixed(1)} LSB near reading ${slip.near}: readings are missing or repeated, or the source's clock wanders`,
      };
  }
  const turn = turningStart(fit, codes.length, clean.length === 1 && longest[0] === 0);
  const stretches: PhaseStretch[] = [];
  for (const [first, last] of clean) {
    const own =
      clean.length === 1
        ? fit
        : last - first < 31
          ? null
          : fitTriangle(codes, scale.topCode, first, last, fit.frequency, true);
    if (own !== null && own.amplitude > 4 * own.residualRms)
      stretches.push({ first, last, frequency: fit.frequency, start: turn ?? own.start });
  }
  if (stretches.length === 0) return { reason: "no clean stretch is long enough to tell its phase" };
  const x = (volts: number): number => (volts - scale.low) / scale.lsb;
  const waveform = linearWaveform(x(stimulus.low), x(stimulus.high));
  return {
    kind: "triangle",
    waveform,
    stated: true,
    delayFree: turn !== null,
    basis: `triangle histogram, phases of a fitted triangle${clean.length > 1 ? `, ${stretches.length} stretches` : ""}`,
    ...phaseSweep(codes, scale.topCode, stretches, waveform),
  };
}

/**
 * A record that begins at a turning point, to within half an LSB or what the fit can tell, was started by the source: then there is no delay, and a constant
 * hysteresis can be told. Any other place is a start at random, and taking it for a turn would set the two slopes apart.
 */
function turningStart(fit: TriangleFit, readings: number, whole: boolean): number | null {
  if (!whole || fit.frequency * readings < 1) return null;
  const turn = Math.round(2 * fit.start) / 2;
  const off = Math.abs(fit.start - turn);
  return off < Math.max(0.5 / (4 * fit.amplitude), 3 * fit.startStandard) && off < 2 * fit.frequency ? turn : null;
}
