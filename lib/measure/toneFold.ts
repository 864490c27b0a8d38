import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE, piecesOf } from "../signal/readingsOf.ts";
import type { SineFit } from "../signal/sineFit.ts";

/** A tone's residual sorted by the phase of the tone: moments of r in bins of phase, and in stretches of time. */
export interface FoldedResidual {
  readonly bins: number;
  /** Bins hold single phases that the record returns to (coherent), not stretches of phase. */
  readonly repeats: boolean;
  /** Phase of bin 0's middle at the record's centre, in cycles. */
  readonly shift: number;
  /** Σ 1, Σ r, Σ r², Σ r³, Σ r⁴ of bin i from element 5·i: side by side, so that a reading touches one place in memory. */
  readonly moments: Float64Array;
  /** null when the record is too short, or a stretch of it visits too few phases, for stretches to be alike. */
  readonly time: TimeBlocks | null;
}

/**
 * Σ 1, Σ r and Σ r² by stretch of time and coarse bin of phase, from element 3·(stretch·phases + phase): what the tone's phase explains can
 * be taken out before stretches are
 * compared.
 */
export interface TimeBlocks {
  readonly blocks: number;
  readonly phases: number;
  readonly sums: Float64Array;
}

/** Up to here each phase gets a bin of its own. */
const MOST_BINS = 1 << 16;
/** Bins of a longer record: each holds many phases, and all bins together stay in the fast part of memory. */
const WIDE_BINS = 1 << 14;
const TIME_BLOCKS = 32;
/** Fewer readings cannot fill stretches and phases alike, and what the phase explains would look like change. */
const FEWEST_FOR_TIME = 4096;
const COARSE = 256;

/**
 * Number of distinct phases that a record visits again and again: the smallest P for which f is J/P so nearly that over the whole record
 * the phase drifts by less than a
 * quarter of the gap 1/P. Found among the convergents of the continued fraction of f.
 * @returns P ≤ M/1, or null when no phase is visited twice
 */
export function distinctPhases(cyclesPerReading: number, readings: number): number | null {
  let x = cyclesPerReading;
  let before = 1;
  let now = 0;
  for (let depth = 0; depth < 40; depth++) {
    const whole = Math.floor(x);
    const next = whole * now + before;
    before = now;
    now = next;
    if (now > readings) return null;
    const nearest = Math.round(cyclesPerReading * now);
    if (Math.abs(cyclesPerReading * now - nearest) * readings < 0.25) return now;
    const rest = x - whole;
    if (!(rest > 1e-12)) return null;
    x = 1 / rest;
  }
  return null;
}

/**
 * How many evenly spread phases a record's phases are worth: 1/Σ gap², the gaps between neighbours on the circle. Near f = 1/2, 1/3, 2/5 …
 * a short record's phases lie in
 * clusters, and what the converter does between these is not seen.
 * @returns at most M; about M/2 for phases drawn at random
 */
export function effectivePhases(cyclesPerReading: number, readings: number): number {
  return 1 / kernels.squaredGaps(kernels.readingPhases(cyclesPerReading, readings).sort());
}

/**
 * One pass over the readings, nothing of their length kept.
 * @param codes  the stretch that `fit` was made over, its reading 0 first
 */
export function foldResidual(codes: Int32Array, fit: SineFit): FoldedResidual {
  const readings = codes.length;
  const f = fit.cyclesPerReading;
  const phases = distinctPhases(f, readings);
  const repeats = phases !== null && phases <= MOST_BINS;
  const bins = repeats ? phases : readings <= MOST_BINS ? 2 ** Math.ceil(Math.log2(readings)) : WIDE_BINS;
  const time = timeBlocks(f, readings);
  const stretch = time ? Math.ceil(readings / time.blocks) : readings;
  const moments = new Float64Array(5 * bins);
  const sums = time?.sums ?? new Float64Array(0);
  // The sums go in and out with every piece.
  for (const { from, to } of piecesOf(readings, Math.max(MOST_AT_ONCE, 8 * moments.length)))
    kernels.foldReadings(moments, sums, codes.subarray(from, to), from, readings, fit, stretch, COARSE);
  const shift = f * (Math.floor((readings - 1) / 2) - (readings - 1) / 2);
  return { bins, repeats, shift, moments, time };
}

/** Room for the comparison of stretches of time, where each stretch would visit the whole circle of phases. */
function timeBlocks(f: number, readings: number): TimeBlocks | null {
  const blocks = Math.min(TIME_BLOCKS, Math.floor((f * readings) / 3));
  if (blocks < 8 || readings < FEWEST_FOR_TIME) return null;
  // Near f = 1/2, 1/3, 1/4 … a stretch sees only a few places of the circle, others in each stretch: such stretches are not alike.
  const length = Math.min(4096, Math.floor(readings / blocks));
  const places = Math.max(8, Math.floor(length / 4));
  const seen = new Uint8Array(places);
  let visited = 0;
  for (let n = 0; n < length; n++) {
    const t = n * f - Math.floor(n * f);
    const place = Math.min(places - 1, Math.floor(t * places));
    if (!seen[place]) visited++;
    seen[place] = 1;
  }
  if (visited < 0.9 * places) return null;
  return { blocks, phases: COARSE, sums: new Float64Array(3 * blocks * COARSE) };
}
