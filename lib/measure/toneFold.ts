import type { SineFit } from "../signal/sineFit.ts";

/** A tone's residual sorted by the phase of the tone: moments of r in bins of phase, and in stretches of time. */
export interface FoldedResidual {
  readonly bins: number;
  /** Bins hold single phases that the record returns to (coherent), not stretches of phase. */
  readonly repeats: boolean;
  /** Phase of bin 0's middle at the record's centre, in cycles. */
  readonly shift: number;
  readonly count: Float64Array;
  /** Σ r, Σ r², Σ r³, Σ r⁴ by bin. */
  readonly s1: Float64Array;
  readonly s2: Float64Array;
  readonly s3: Float64Array;
  readonly s4: Float64Array;
  /** null when the record is too short, or a stretch of it visits too few phases, for stretches to be alike. */
  readonly time: TimeBlocks | null;
}

/**
 * Σ 1, Σ r and Σ r² by stretch of time and coarse bin of phase, [stretch·phases + phase]: what the tone's phase explains can be taken out before stretches are compared.
 */
export interface TimeBlocks {
  readonly blocks: number;
  readonly phases: number;
  readonly count: Float64Array;
  readonly s1: Float64Array;
  readonly s2: Float64Array;
}

/** Bins beyond this no longer fit the fast part of memory and show nothing more. */
const MOST_BINS = 1 << 16;
const TIME_BLOCKS = 32;
/** Fewer readings cannot fill stretches and phases alike, and what the phase explains would look like change. */
const FEWEST_FOR_TIME = 4096;
const COARSE = 256;
const RESYNC = 1024;

/**
 * Number of distinct phases that a record visits again and again: the smallest P for which f is J/P so nearly that over the whole record the phase drifts by less than a
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
 * One pass over the readings, nothing of their length kept.
 * @param codes  the stretch that `fit` was made over, its reading 0 first
 */
export function foldResidual(codes: Int32Array, fit: SineFit): FoldedResidual {
  const readings = codes.length;
  const f = fit.cyclesPerReading;
  const phases = distinctPhases(f, readings);
  const repeats = phases !== null && phases <= MOST_BINS;
  const bins = repeats ? phases : Math.min(MOST_BINS, 2 ** Math.ceil(Math.log2(readings)));
  const centre = Math.floor((readings - 1) / 2);
  const half = 0.5 / bins;
  const count = new Float64Array(bins);
  const s1 = new Float64Array(bins);
  const s2 = new Float64Array(bins);
  const s3 = new Float64Array(bins);
  const s4 = new Float64Array(bins);
  const time = timeBlocks(f, readings);
  const blockLength = time ? Math.ceil(readings / time.blocks) : readings;

  const omega = 2 * Math.PI * f;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const { amplitude, offset, phase } = fit;
  let row = 0;
  let blockEnd = blockLength;
  for (let start = 0; start < readings; start += RESYNC) {
    const end = Math.min(readings, start + RESYNC);
    const turns = f * start;
    const angle = 2 * Math.PI * (turns - Math.floor(turns)) + phase;
    let c = amplitude * Math.cos(angle);
    let s = amplitude * Math.sin(angle);
    const fromCentre = f * (start - centre) + half;
    let t = fromCentre - Math.floor(fromCentre);
    for (let n = start; n < end; n++) {
      const r = codes[n]! - offset - c;
      const rr = r * r;
      const bin = Math.min(bins - 1, (t * bins) | 0);
      count[bin]! += 1;
      s1[bin]! += r;
      s2[bin]! += rr;
      s3[bin]! += rr * r;
      s4[bin]! += rr * rr;
      if (time) {
        if (n === blockEnd) {
          row += time.phases;
          blockEnd += blockLength;
        }
        const cell = row + Math.min(time.phases - 1, (t * time.phases) | 0);
        time.count[cell]! += 1;
        time.s1[cell]! += r;
        time.s2[cell]! += rr;
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
      t += f;
      if (t >= 1) t -= 1;
    }
  }
  const shift = f * (centre - (readings - 1) / 2);
  return { bins, repeats, shift, count, s1, s2, s3, s4, time };
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
  const phases = COARSE;
  const size = blocks * phases;
  return { blocks, phases, count: new Float64Array(size), s1: new Float64Array(size), s2: new Float64Array(size) };
}
