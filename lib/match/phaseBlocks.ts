import { median } from "../signal/median.ts";
import type { SineFit } from "../signal/sineFit.ts";

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

interface BlockSine {
  readonly phase: number;
  readonly offset: number;
  readonly amplitude: number;
  readonly residual: number;
  /** The reading furthest from the block's sine. */
  readonly furthest: number;
}

/** Three parameters of one block against the reference; null where too little is left to tell them apart. */
function blockSine(
  codes: Int32Array,
  fit: SineFit,
  middle: number,
  start: number,
  length: number,
  stepC: number,
  stepS: number,
  exclude: ((code: number, n: number) => boolean) | null,
): BlockSine | null {
  const turns = fit.cyclesPerReading * start;
  const theta = 2 * Math.PI * (turns - Math.floor(turns)) + fit.phase;
  const c0 = Math.cos(theta);
  const s0 = Math.sin(theta);
  let c = c0;
  let s = s0;
  let n = 0;
  let sc = 0;
  let ss = 0;
  let scc = 0;
  let scs = 0;
  let sy = 0;
  let syc = 0;
  let sys = 0;
  let syy = 0;
  for (let i = start; i < start + length; i++) {
    const code = codes[i]!;
    if (exclude === null || !exclude(code, i)) {
      const y = code - middle;
      n++;
      sc += c;
      ss += s;
      scc += c * c;
      scs += c * s;
      sy += y;
      syc += y * c;
      sys += y * s;
      syy += y * y;
    }
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
  const cc = scc - (sc * sc) / n;
  const cs = scs - (sc * ss) / n;
  const sq = n - scc - (ss * ss) / n;
  const yc = syc - (sy * sc) / n;
  const ys = sys - (sy * ss) / n;
  const det = cc * sq - cs * cs;
  if (n < 6 || !(det > 1e-6 * n * n)) return null;
  const a = (yc * sq - ys * cs) / det;
  const q = (ys * cc - yc * cs) / det;
  const level = (sy - a * sc - q * ss) / n;
  const left = syy - (sy * sy) / n - a * yc - q * ys;
  return {
    // a·cos θ + q·sin θ = A·cos(θ + δ), δ = atan2(−q, a).
    phase: Math.atan2(-q, a),
    offset: middle + level,
    amplitude: Math.hypot(a, q),
    residual: Math.sqrt(Math.max(0, left) / Math.max(1, n - 3)),
    get furthest() {
      let worst = -1;
      let at = start;
      let x = c0;
      let z = s0;
      for (let i = start; i < start + length; i++) {
        const away = Math.abs(codes[i]! - middle - level - a * x - q * z);
        if (away > worst && (exclude === null || !exclude(codes[i]!, i))) {
          worst = away;
          at = i;
        }
        const next = x * stepC - z * stepS;
        z = z * stepC + x * stepS;
        x = next;
      }
      return at;
    },
  };
}

/**
 * @param exclude  codes to leave out, such as rails
 * @returns null when the record is too short for eight blocks
 */
export function phaseBlocks(
  codes: Int32Array,
  fit: SineFit,
  exclude: ((code: number) => boolean) | null = null,
): PhaseBlocks | null {
  const length = blockLength(fit.cyclesPerReading, codes.length);
  if (length === null) return null;
  const count = Math.floor(codes.length / length);
  const phase = new Float64Array(count);
  const offset = new Float64Array(count);
  const amplitude = new Float64Array(count);
  const residual = new Float64Array(count);
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const middle = Math.round(fit.offset);
  const drop = new Set<number>();
  const sineOf = (b: number): BlockSine | null =>
    blockSine(
      codes,
      fit,
      middle,
      b * length,
      length,
      stepC,
      stepS,
      (code, n) => exclude?.(code) === true || drop.has(n),
    );
  const keep = (b: number, sine: BlockSine | null): void => {
    phase[b] = sine?.phase ?? Number.NaN;
    offset[b] = sine?.offset ?? Number.NaN;
    amplitude[b] = sine?.amplitude ?? Number.NaN;
    residual[b] = sine?.residual ?? Number.NaN;
  };
  for (let b = 0; b < count; b++) keep(b, blockSine(codes, fit, middle, b * length, length, stepC, stepS, exclude));
  // A single upset reading would turn its block's phase: in blocks that fit much worse than usual the furthest readings are dropped.
  const usual = Math.max(median(residual), 0.2);
  for (let b = 0; b < count; b++) {
    let sine = residual[b]! > SPOILT * usual ? sineOf(b) : null;
    for (let round = 0; sine !== null && sine.residual > SPOILT * usual && round < MOST_DROPPED; round++) {
      drop.add(sine.furthest);
      sine = sineOf(b);
    }
    if (sine !== null && sine.residual <= SPOILT * usual) keep(b, sine);
    drop.clear();
  }
  return { length, count, phase, offset, amplitude, residual };
}
