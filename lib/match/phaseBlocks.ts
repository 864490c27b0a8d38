import { median } from "../signal/median.ts";
import { blockSines, type SineAtFrequency, sineAtFrequency } from "../signal/sineAtFrequency.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";

/**
 * A record against a reference sine, block by block: what is left of phase, level and amplitude in each. One pass, memory for the blocks only.
 * Element b belongs to readings b·length … (b+1)·length − 1.
 */
export interface PhaseBlocks {
  readonly length: number;
  readonly count: number;
  /** Phase against the reference, rad, in (−π, π]. */
  readonly phase: Float64Array;
  /** Level and amplitude of each block, codes. */
  readonly offset: Float64Array;
  readonly amplitude: Float64Array;
  /** rms of each block about its own sine, codes. */
  readonly residual: Float64Array;
}

/** Least cycles in a block, so that its phase, level and amplitude can be told apart whatever the phase is. */
const LEAST_CYCLES = 1;
/** Most blocks: finer ones would tell nothing more about where a step is than the readings themselves do. */
const MOST_BLOCKS = 2048;

/**
 * The block length for a tone: whole cycles as nearly as can be, so that harmonics do not leak into the phase.
 * @param cycles  of the tone per reading, 0…½
 * @returns null when the record has fewer than eight such blocks
 */
function blockLength(cycles: number, readings: number): number | null {
  // Close to half the rate the beat between tone and sampling is what must be seen whole.
  const beat = Math.min(cycles, 0.5 - cycles);
  if (!(beat > 0)) return null;
  const least = Math.max(8, Math.ceil(LEAST_CYCLES / beat), Math.ceil(readings / MOST_BLOCKS));
  if (readings < 8 * least) return null;
  const most = Math.min(Math.floor(readings / 8), least + Math.max(8, Math.ceil(least / 2)));
  let best = least;
  let miss = Number.POSITIVE_INFINITY;
  for (let length = least; length <= most; length++) {
    const away = Math.abs(cycles * length - Math.round(cycles * length)) / length;
    if (away < miss - 1e-12) {
      miss = away;
      best = length;
    }
  }
  return best;
}

/** A block whose rms stands this far above the usual holds an upset reading, or a jump of phase. */
const SPOILT = 1.5;
/** Readings that may be dropped from a block; of a jump of phase they do not help, and the block stays as it is. */
const MOST_DROPPED = 3;

/**
 * Below this share of independence (¼ is full), or with fewer readings, a block says nothing: near a quarter of the rate the rails may leave only readings on either side of the middle, which know no
 * amplitude, and their phase is noise.
 */
const LEAST_APART = 0.01;
const LEAST_READINGS = 6;

/** The sine of one block, its angle counted from the reference's; null where too little is left to tell. */
interface BlockSine {
  readonly sine: SineAtFrequency;
  /** rms of a reading about it, codes. */
  readonly residual: number;
}

/**
 * @param usable  codes to use: not the rails
 * @returns null when the record is too short for eight blocks
 */
export function phaseBlocks(codes: Int32Array, fit: SineFit, usable: UsableCodes | null = null): PhaseBlocks | null {
  const length = blockLength(fit.cyclesPerReading, codes.length);
  if (length === null) return null;
  const count = Math.floor(codes.length / length);
  const phase = new Float64Array(count);
  const offset = new Float64Array(count);
  const amplitude = new Float64Array(count);
  const residual = new Float64Array(count);
  const { cyclesPerReading: cycles } = fit;
  const middle = Math.round(fit.offset);
  const drop = new Set<number>();
  const angleAt = (n: number): number => 2 * Math.PI * (cycles * n - Math.floor(cycles * n)) + fit.phase;
  const sineOf = (b: number): BlockSine | null => {
    const start = b * length;
    let readings: Int32Array | Float64Array = codes.subarray(start, start + length);
    if (drop.size > 0) readings = Float64Array.from(readings, (y, i) => (drop.has(start + i) ? Number.NaN : y));
    return told(sineAtFrequency(readings, 0, length - 1, cycles, angleAt(start), middle, usable));
  };
  const told = (sine: SineAtFrequency | null): BlockSine | null => {
    if (sine === null || sine.readings < LEAST_READINGS || sine.apart < LEAST_APART) return null;
    return { sine, residual: Math.sqrt(sine.left / (sine.readings - 3)) };
  };
  const keep = (b: number, found: BlockSine | null): void => {
    // a·cos θ + q·sin θ = A·cos(θ + δ), δ = atan2(−q, a).
    phase[b] = found === null ? Number.NaN : Math.atan2(-found.sine.b, found.sine.a);
    offset[b] = found?.sine.offset ?? Number.NaN;
    amplitude[b] = found === null ? Number.NaN : Math.hypot(found.sine.a, found.sine.b);
    residual[b] = found?.residual ?? Number.NaN;
  };
  const sines = blockSines(codes, length, cycles, fit.phase, middle, usable);
  for (let b = 0; b < count; b++) keep(b, told(sines[b]!));
  const furthest = (b: number, { offset: level, a, b: q }: SineAtFrequency): number => {
    let worst = -1;
    let at = b * length;
    for (let n = b * length; n < (b + 1) * length; n++) {
      const theta = angleAt(n);
      const away = Math.abs(codes[n]! - level - a * Math.cos(theta) - q * Math.sin(theta));
      if (away > worst && isUsable(codes[n]!, usable) && !drop.has(n)) {
        worst = away;
        at = n;
      }
    }
    return at;
  };
  // A single upset reading would turn its block's phase: in blocks that fit much worse than usual the furthest readings are dropped.
  const usual = Math.max(median(residual), 0.2);
  for (let b = 0; b < count; b++) {
    let found = residual[b]! > SPOILT * usual ? sineOf(b) : null;
    for (let round = 0; found !== null && found.residual > SPOILT * usual && round < MOST_DROPPED; round++) {
      drop.add(furthest(b, found.sine));
      found = sineOf(b);
    }
    if (found !== null && found.residual <= SPOILT * usual) keep(b, found);
    drop.clear();
  }
  return { length, count, phase, offset, amplitude, residual };
}
