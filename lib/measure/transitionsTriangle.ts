import type { MatchedRecord } from "../match/matched.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { type PhaseStretch, phaseSweep } from "./transitionsPhases.ts";
import type { NoSweep, Sweep } from "./transitionsSweep.ts";
import { linearWaveform } from "./transitionsWaveform.ts";

/** A triangle fitted to readings: y[n] = offset + amplitude·w(turn), turn = frequency·n + start, w = −1 at turn 0 (lowest), +1 at ½. */
export interface TriangleFit {
  /** Cycles per reading. */
  readonly frequency: number;
  /** Turn of the record's reading 0, in [0, 1). */
  readonly start: number;
  /** Standard uncertainty of start, white residual assumed. */
  readonly startStandard: number;
  readonly offset: number;
  readonly amplitude: number;
  readonly residualRms: number;
}

/** Readings looked at per pass; longer records are taken in blocks spread over their length. */
const MOST_USED = 1 << 18;
const BLOCK = 2048;
/** Readings this many standard deviations off are left out of the fit; noise alone goes as far once in 500 million readings. */
const TRIMMED = 6;

/**
 * Least-squares triangle, readings at the rails left out, started from sine fits at the known frequency and at the best one.
 * @param frequency  known to about a quarter of a cycle over the stretch, cycles per reading; null: from the sine fit
 * @param fixed      the frequency stays
 * @returns null when no triangle follows from the readings
 * Source: Gauss-Newton on the four parameters, as IEEE Std 1057 does for a sine.
 */
export function fitTriangle(
  codes: ArrayLike<number>,
  topCode: number,
  first: number,
  last: number,
  frequency: number | null,
  fixed = false,
): TriangleFit | null {
  const exclude = (code: number): boolean => code <= 0 || code >= topCode;
  if (last - first < 8) return null;
  const starts = frequency === null ? [] : [fitSine(codes, { first, last, exclude, frequency, fixed: true })];
  if (!fixed) starts.push(fitSine(codes, { first, last, exclude }));
  let best: TriangleFit | null = null;
  for (const start of starts) {
    const found = start && refine(codes, exclude, first, last, start, fixed);
    if (found && (best === null || found.residualRms < 0.99 * best.residualRms)) best = found;
  }
  return best;
}

function refine(
  codes: ArrayLike<number>,
  railed: (code: number) => boolean,
  first: number,
  last: number,
  sine: SineFit,
  fixed: boolean,
): TriangleFit | null {
  const centre = (first + last) / 2;
  const half = (last - first) / 2;
  const blocks = Math.max(1, Math.ceil((last - first + 1) / BLOCK));
  const every = Math.max(1, Math.ceil((last - first + 1) / MOST_USED));
  let f = sine.cyclesPerReading;
  let turnAtCentre = f * centre + sine.phase / (2 * Math.PI) + 0.5;
  // A triangle's fundamental has 8/π² of its amplitude.
  let offset = sine.offset;
  let amplitude = (sine.amplitude * Math.PI ** 2) / 8;
  const p = fixed ? 3 : 4;
  // Readings far from the triangle are errors (a wrong high bit) and would pull at it; the scatter that tells them is the last pass's.
  let limit = Number.POSITIVE_INFINITY;
  for (let pass = 0; pass < 25; pass++) {
    const H = new Float64Array(p * p);
    const g = new Float64Array(p);
    const row = new Float64Array(p);
    let rss = 0;
    let used = 0;
    for (let b = 0; b < blocks; b += every) {
      const from = first + b * BLOCK;
      const to = Math.min(last, from + BLOCK - 1);
      for (let n = from; n <= to; n++) {
        const code = codes[n]!;
        if (railed(code)) continue;
        const x = f * (n - centre) + turnAtCentre;
        const turn = x - Math.floor(x);
        const rising = turn < 0.5;
        const w = rising ? 4 * turn - 1 : 3 - 4 * turn;
        const residual = code - offset - amplitude * w;
        if (Math.abs(residual) > limit) continue;
        const steep = rising ? 4 * amplitude : -4 * amplitude;
        row[0] = 1;
        row[1] = w;
        row[2] = steep;
        if (!fixed) row[3] = (steep * (n - centre)) / half;
        for (let i = 0; i < p; i++) {
          g[i]! += row[i]! * residual;
          for (let j = 0; j <= i; j++) H[i * p + j]! += row[i]! * row[j]!;
        }
        rss += residual * residual;
        used++;
      }
    }
    if (used <= p) return null;
    limit = TRIMMED * Math.sqrt(Math.max(1 / 12, rss / used));
    for (let i = 0; i < p; i++) for (let j = i + 1; j < p; j++) H[i * p + j] = H[j * p + i]!;
    const solved = symmetricSolve(H, g);
    if (solved === null) return null;
    const { x: step, inverse } = solved;
    const turnStep = Math.max(-0.1, Math.min(0.1, step[2]!));
    const frequencyStep = fixed ? 0 : Math.max(-0.1, Math.min(0.1, step[3]!)) / half;
    offset += step[0]!;
    amplitude += step[1]!;
    turnAtCentre += turnStep;
    f += frequencyStep;
    if (amplitude < 0) {
      amplitude = -amplitude;
      turnAtCentre += 0.5;
    }
    if (Math.abs(turnStep) < 1e-9 && Math.abs(frequencyStep) * half < 1e-9 && pass > 0) {
      const variance = rss / (used - p);
      const start = turnAtCentre - f * centre;
      // start = turn at the centre − f·centre; the two are nearly uncorrelated about the centre.
      const lever = fixed ? 0 : centre / half;
      return {
        frequency: f,
        start: start - Math.floor(start),
        startStandard: Math.sqrt(variance * (inverse[2 * p + 2]! + lever * lever * (fixed ? 0 : inverse[3 * p + 3]!))),
        offset,
        amplitude,
        residualRms: Math.sqrt(variance),
      };
    }
  }
  return null;
}

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
 * A record that begins at a turning point, to within half a reading or what the fit can tell, was started by the source: then there is no delay, and a constant
 * hysteresis can be told. By chance a record begins so about once in as many times as there are readings in half a period.
 */
function turningStart(fit: TriangleFit, readings: number, whole: boolean): number | null {
  if (!whole || fit.frequency * readings < 1) return null;
  const turn = Math.round(2 * fit.start) / 2;
  const off = Math.abs(fit.start - turn) / fit.frequency;
  return off < Math.max(0.5, (3 * fit.startStandard) / fit.frequency) && off < 2 ? turn : null;
}
