import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { FALSE_ALARM } from "./context.ts";
import { type PhaseStep, wrap } from "./phaseSteps.ts";
import { robustDeviation } from "./robust.ts";

/** Places tried along the record. */
const PLACES = 1024;
/** Harmonics that are projected out: over a few cycles distortion looks like a change of phase. */
const HARMONICS = [2, 3, 4, 5];
/** Larger jumps are not small changes of phase any more. */
const LINEAR = 0.3;
/** A remainder of more than this many times the noise of short pieces, and what a converter's own curve may leave (codes, rms), fits no one sine. */
const POOR = 4;
const INL_ALLOWANCE = 6;

/**
 * A jump of phase in a record of few cycles, where no block holds a whole one: likelihood ratio for a step of phase at each place, with the columns of the fit
 * {cos, sin, 1, time·derivative} and harmonics 2 to 5 projected out (METHODS §6). One jump at most.
 * Threshold: for M = 4096 white readings 14.8 is passed by one clean record in a hundred at some place; the statistic falls off as a
 * chi-square with one degree of freedom, so that FALSE_ALARM asks for 2·ln(0.01/FALSE_ALARM) more. Where readings are not white (a quiet
 * quantiser) the noise is taken from sums over thirty-seconds of the record, where it is larger.
 * @param noise  rms about the tone over short pieces, codes
 */
export function slowPhaseStep(codes: Int32Array, reference: SineFit, noise: number): PhaseStep | null {
  const readings = codes.length;
  if (readings < 24) return null;
  const whole = reference.readings === readings ? reference : fitSine(codes);
  if (whole === null || whole.residualRms > INL_ALLOWANCE + POOR * noise) return grossStep(codes, reference);
  const length = Math.max(1, Math.floor(readings / PLACES));
  const count = Math.floor(readings / length);
  const omega = 2 * Math.PI * whole.cyclesPerReading;
  const half = readings / 2;
  // Columns c, s, 1, u·d, then cos and sin of the harmonics; step column d, the derivative of the model with phase.
  const width = 4 + 2 * HARMONICS.filter((h) => h * whole.cyclesPerReading < 0.45).length;
  const G = new Float64Array(width * width);
  const dCol = new Float64Array(count * width);
  const dd = new Float64Array(count);
  const dr = new Float64Array(count);
  const curve = foldedRemainder(codes, whole);
  const g = new Float64Array(width);
  const x = new Float64Array(width);
  let rr = 0;
  for (let b = 0; b < count; b++) {
    for (let n = b * length; n < (b + 1) * length; n++) {
      const theta = omega * n + whole.phase;
      const c = Math.cos(theta);
      const s = Math.sin(theta);
      const d = -whole.amplitude * s;
      const r = codes[n]! - whole.offset - whole.amplitude * c - curve(n);
      x[0] = c;
      x[1] = s;
      x[2] = 1;
      x[3] = ((n - half) / half) * d;
      let hc = c;
      let hs = s;
      for (let i = 4; i < width; i += 2) {
        const next = hc * c - hs * s;
        hs = hs * c + hc * s;
        hc = next;
        x[i] = hc;
        x[i + 1] = hs;
      }
      for (let i = 0; i < width; i++) {
        for (let j = 0; j <= i; j++) G[i * width + j]! += x[i]! * x[j]!;
        dCol[b * width + i]! += d * x[i]!;
        g[i]! += x[i]! * r;
      }
      dd[b]! += d * d;
      dr[b]! += d * r;
      rr += r * r;
    }
  }
  for (let i = 0; i < width; i++) for (let j = 0; j < i; j++) G[j * width + i] = G[i * width + j]!;
  const own = symmetricSolve(G, g);
  if (own === null) return null;
  for (let i = 0; i < width; i++) rr -= own.x[i]! * g[i]!;
  const threshold = 14.8 + 2 * Math.log(0.01 / FALSE_ALARM) + 2 * Math.log(Math.max(1, readings / 4096));
  let best = { stat: 0, b: -1, step: 0, variance: 0, sigma2: 1 };
  const v = new Float64Array(width);
  let hh = 0;
  let hr = 0;
  for (let b = count - 1; b > 0; b--) {
    for (let i = 0; i < width; i++) v[i]! += dCol[b * width + i]!;
    hh += dd[b]!;
    hr += dr[b]!;
    const solved = symmetricSolve(G, v);
    if (solved === null) continue;
    let den = hh;
    let num = hr;
    for (let i = 0; i < width; i++) {
      den -= v[i]! * solved.x[i]!;
      num -= solved.x[i]! * g[i]!;
    }
    if (!(den > 1e-9 * hh)) continue;
    // The step's own share of the remainder is no noise.
    const sigma2 = Math.max((rr - (num * num) / den) / Math.max(1, readings - width - 2), 1 / 12);
    const stat = (num * num) / den / sigma2;
    if (stat > best.stat) best = { stat, b, step: num / den, variance: sigma2 / den, sigma2 };
  }
  if (best.stat < threshold) return null;
  // What the step explains is taken off before the rest is asked how white it is.
  const left = Float64Array.from(dr, (sum, b) => sum - (b >= best.b ? best.step * dd[b]! : 0));
  const solvedLeft = symmetricSolve(G, remainderSums(g, dCol, best, count, width));
  if (solvedLeft !== null)
    for (let b = 0; b < count; b++) for (let i = 0; i < width; i++) left[b]! -= solvedLeft.x[i]! * dCol[b * width + i]!;
  const excess = correlation(left, dd, best.sigma2, readings);
  if (best.stat / excess < threshold || !standsOut(left, dd, best.b, best.step)) return null;
  const at = best.b * length;
  const standard = Math.sqrt(best.variance * excess);
  const better = handover(codes, whole.cyclesPerReading, at, length);
  if (better !== null && better.rss < whole.rss) return better;
  return Math.abs(best.step) < LINEAR ? { at, within: 2 * length, step: best.step, standard } : null;
}

/** Phases into which what the sine leaves is sorted, and cycles from which that says more than one reading each. */
const PHASES = 256;
const LEAST_CYCLES = 3;

/**
 * What the sine leaves at each phase, on average over the cycles: the converter's own curve and all its harmonics, which are no change of phase.
 * @returns a function of the reading; zero where the record has too few cycles or readings to tell
 */
function foldedRemainder(codes: Int32Array, fit: SineFit): (n: number) => number {
  const phases = Math.min(PHASES, Math.floor(codes.length / 16));
  if (fit.cyclesPerReading * codes.length < LEAST_CYCLES || phases < 16) return () => 0;
  const start = fit.phase / (2 * Math.PI);
  const binOf = (n: number): number => {
    const turns = fit.cyclesPerReading * n + start;
    return Math.floor((turns - Math.floor(turns)) * phases) % phases;
  };
  const sums = new Float64Array(phases);
  const counts = new Float64Array(phases);
  for (let n = 0; n < codes.length; n++) {
    const bin = binOf(n);
    sums[bin]! += codes[n]! - fit.offset - fit.amplitude * Math.cos(2 * Math.PI * fit.cyclesPerReading * n + fit.phase);
    counts[bin]!++;
  }
  return (n) => {
    const bin = binOf(n);
    return counts[bin]! > 0 ? sums[bin]! / counts[bin]! : 0;
  };
}

/** Standard deviations by which a jump between the two sides of a place must stand out of the same elsewhere. */
const STANDS_OUT = 5;

/**
 * Whether a step at block b is larger than what changes between neighbouring pieces elsewhere, once the step is taken off. Pieces are as long as the
 * shorter side of the step, where the record has enough of them.
 * @param left  Σ d·r of each block without the step
 */
function standsOut(left: Float64Array, dd: Float64Array, b: number, step: number): boolean {
  const count = left.length;
  const w = Math.min(b, count - b, Math.floor(count / 8));
  if (w < 1) return true;
  const scale = (at: number): { value: number; weight: number } => {
    let [before, after, wb, wa] = [0, 0, 0, 0];
    for (let i = 1; i <= w; i++) {
      before += left[at - i]!;
      wb += dd[at - i]!;
      after += left[at + i - 1]!;
      wa += dd[at + i - 1]!;
    }
    // In units of its own expected scatter, so that pieces about a peak, which know no phase, count as little as they know.
    const weight = wb > 0 && wa > 0 ? 1 / Math.sqrt(1 / wa + 1 / wb) : 0;
    return { value: weight > 0 ? (after / wa - before / wb) * weight : 0, weight };
  };
  const elsewhere: number[] = [];
  for (let at = w; at + w <= count; at += Math.max(1, w >> 1)) elsewhere.push(scale(at).value);
  return Math.abs(step * scale(b).weight) > STANDS_OUT * robustDeviation(elsewhere, 0);
}

/** Σ column·(r − step) over the whole record, so that the fit's columns can take up what the step leaves. */
function remainderSums(
  g: Float64Array,
  dCol: Float64Array,
  best: { readonly b: number; readonly step: number },
  count: number,
  width: number,
): Float64Array {
  const sums = Float64Array.from(g);
  for (let b = best.b; b < count; b++) for (let i = 0; i < width; i++) sums[i]! -= best.step * dCol[b * width + i]!;
  return sums;
}

/** By how much sums of d·r over 32 pieces scatter more than those of white readings would; at least 1. */
function correlation(dr: Float64Array, dd: Float64Array, variance: number, readings: number): number {
  const pieces = Math.min(32, Math.floor(readings / 8));
  const size = Math.floor(dr.length / pieces);
  if (size < 2) return 1;
  let squares = 0;
  let expected = 0;
  for (let p = 0; p < pieces; p++) {
    let sum = 0;
    for (let b = p * size; b < (p + 1) * size; b++) {
      sum += dr[b]!;
      expected += variance * dd[b]!;
    }
    squares += sum * sum;
  }
  // Of white readings this ratio scatters by √(2/pieces).
  return Math.max(1, squares / expected / (1 + Math.sqrt(2 / pieces)));
}

/** Places at which a record that no one sine fits is cut in two. */
const CUTS = 40;
/** In a long record fewer: each costs two fits. */
const CUTS_WHEN_LONG = 12;
const LONG = 200_000;
/** In a short one every few readings: a side that holds a few readings of the other has no sine of its own. */
const SHORT = 1000;

/**
 * A jump too large for one sine to fit the record: cut at each of some places and both sides fitted on their own. It is a jump when the two sines together leave
 * clearly less than what one leaves: 0.8 of its power (further jumps may remain on both sides), of fewer than a thousand readings 0.6, of fewer than a hundred a fifth. Noise alone gains
 * a few per cent by a cut.
 */
function grossStep(codes: Int32Array, reference: SineFit): PhaseStep | null {
  const readings = codes.length;
  const whole = fitSine(codes)?.rss ?? Number.POSITIVE_INFINITY;
  let best = { at: -1, rss: whole };
  const cuts = readings > LONG ? CUTS_WHEN_LONG : readings < SHORT ? Math.floor(readings / 5) : CUTS;
  for (let i = 1; i < cuts; i++) {
    const at = Math.round((i * readings) / cuts);
    if (at < 10 || readings - at < 10) continue;
    const before = fitSine(codes, { first: 0, last: at - 1, frequency: reference.cyclesPerReading });
    const after = fitSine(codes, { first: at, last: readings - 1, frequency: reference.cyclesPerReading });
    if (before !== null && after !== null && before.rss + after.rss < best.rss)
      best = { at, rss: before.rss + after.rss };
  }
  if (best.at < 0) return null;
  const found = handover(codes, reference.cyclesPerReading, best.at, Math.ceil(readings / cuts));
  return found !== null && found.rss < (readings < 100 ? 0.2 : readings < 1000 ? 0.6 : 0.8) * whole ? found : null;
}

/** Both sides of a rough place fitted on their own, a margin left out, and the place moved to where they hand over best. */
export function handover(
  codes: Int32Array,
  cycles: number,
  start: number,
  margin: number,
): (PhaseStep & { readonly rss: number }) | null {
  let at = start;
  let away = margin;
  for (let round = 0; round < 4; round++) {
    const before = fitSine(codes, { first: 0, last: Math.max(0, at - 1 - away), frequency: cycles });
    const after = fitSine(codes, {
      first: Math.min(codes.length - 1, at + away),
      last: codes.length - 1,
      frequency: cycles,
    });
    if (before === null || after === null) return null;
    const value = (f: SineFit, n: number): number =>
      f.offset + f.amplitude * Math.cos(2 * Math.PI * f.cyclesPerReading * n + f.phase);
    let misfit = 0;
    for (let n = 0; n < codes.length; n++) misfit += (codes[n]! - value(after, n)) ** 2;
    let least = misfit;
    let place = 0;
    for (let n = 0; n < codes.length; n++) {
      misfit += (codes[n]! - value(before, n)) ** 2 - (codes[n]! - value(after, n)) ** 2;
      if (misfit < least) {
        least = misfit;
        place = n + 1;
      }
    }
    if (place < 8 || place > codes.length - 8) return null;
    const settled = place === at && away <= 2;
    at = place;
    away = Math.min(away, 2);
    if (!settled && round < 3) continue;
    // Each side's phase at the place, from its own readings: a straight line's end, twice as uncertain as its middle.
    const phaseAt = (f: SineFit): number => 2 * Math.PI * f.cyclesPerReading * place + f.phase;
    // Distortion turns the phase of a piece of few cycles by a share of the remainder that does not average out.
    const side = (f: SineFit): number => (f.residualRms / f.amplitude) * (Math.sqrt(8 / f.readings) + 0.1);
    return {
      at: place,
      within: 2,
      step: wrap(phaseAt(after) - phaseAt(before)),
      standard: Math.hypot(side(before), side(after)),
      rss: least,
    };
  }
  return null;
}
