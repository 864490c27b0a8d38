import { fitSine, type SineFit } from "./sineFit.ts";
import { symmetricSolve } from "./symmetricSolve.ts";

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
  /** Standard uncertainties of offset and amplitude, white residual assumed: large where the readings hardly pass a second apex. */
  readonly offsetStandard: number;
  readonly amplitudeStandard: number;
  readonly residualRms: number;
}

/** Readings looked at per pass; longer records are taken in blocks spread over their length. */
const MOST_USED = 1 << 18;
const BLOCK = 2048;
/** Means that a long record's first sine is fitted to, and the cycles a mean up to which they follow it. */
const MOST_MEANS = 1 << 16;
const SLOW = 0.02;
/** Readings this many standard deviations off are left out of the fit; noise alone goes as far once in 500 million readings. */
const TRIMMED = 6;

/**
 * Least-squares triangle, readings at the rails left out, started from sine fits at the known frequency and at the best one.
 * @param frequency  known to about a quarter of a cycle over the stretch, cycles per reading; null: from the sine fit
 * @param fixed      the frequency stays
 * @param floor      codes from here down are left out as well: a plateau's
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
  floor = 0,
): TriangleFit | null {
  const exclude = (code: number): boolean => code <= floor || code >= topCode;
  if (last - first < 8) return null;
  const starts = frequency === null ? [] : [startingSine(codes, exclude, first, last, frequency)];
  if (!fixed) starts.push(startingSine(codes, exclude, first, last, null));
  let best: TriangleFit | null = null;
  for (const start of starts) {
    const found = start && refine(codes, exclude, first, last, start, fixed);
    if (found && (best === null || found.residualRms < 0.99 * best.residualRms)) best = found;
  }
  return best;
}

/**
 * A sine to start from: of a long record through the means of blocks, which a slow triangle hardly changes within. Rails leave a block without one.
 * @param frequency  the sine keeps it; null: the best there is
 */
function startingSine(
  codes: ArrayLike<number>,
  exclude: (code: number) => boolean,
  first: number,
  last: number,
  frequency: number | null,
): SineFit | null {
  const each = Math.floor((last - first + 1) / MOST_MEANS);
  if (each > 1) {
    const means = Float64Array.from({ length: Math.floor((last - first + 1) / each) }, (_, b) => {
      let sum = 0;
      for (let n = first + b * each; n < first + (b + 1) * each; n++)
        sum += exclude(codes[n]!) ? Number.NaN : codes[n]!;
      return sum / each;
    });
    const known = frequency === null ? {} : { frequency: frequency * each, fixed: true };
    const sine = fitSine(means, { ...known, exclude: Number.isNaN });
    if (sine !== null && sine.cyclesPerReading < SLOW) {
      const cyclesPerReading = sine.cyclesPerReading / each;
      const phase = sine.phase - 2 * Math.PI * cyclesPerReading * (first + (each - 1) / 2);
      return { ...sine, cyclesPerReading, phase };
    }
  }
  return fitSine(codes, { first, last, exclude, ...(frequency === null ? {} : { frequency, fixed: true }) });
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
        offsetStandard: Math.sqrt(variance * inverse[0]!),
        amplitudeStandard: Math.sqrt(variance * inverse[p + 1]!),
        residualRms: Math.sqrt(variance),
      };
    }
  }
  return null;
}
