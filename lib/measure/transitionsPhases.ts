import type { Lsb } from "../bench/units.ts";
import type { CodeHistogram } from "../signal/codeHistogram.ts";
import { bucketCount, gridOf, gridOfBuckets, merged, type PositionGrid, sortPositions } from "./transitionsGrid.ts";
import { noiseByInversions, type SortedRun, type SweepNoise } from "./transitionsNoise.ts";
import { type CodeBounds, codeBounds, isPossible } from "./transitionsOutliers.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/**
 * A stretch of readings with the phase of a periodic stimulus: reading n lies at turn (frequency·n + start) mod 1, where turn 0 is the lowest input,
 * rising until ½ and falling from there.
 */
export interface PhaseStretch {
  readonly first: number;
  readonly last: number;
  /** Cycles per reading. */
  readonly frequency: number;
  /** Turn of the record's reading 0. */
  readonly start: number;
}

/** The readings of one direction, or of both, as counts and positions. */
export interface SweepHalf {
  readonly grid: PositionGrid;
  readonly histogram: CodeHistogram;
}

export interface PhaseSweep {
  readonly both: SweepHalf;
  readonly rising: SweepHalf;
  readonly falling: SweepHalf;
  readonly noise: SweepNoise;
  /** Readings left out because their codes cannot belong to their place on the sweep. */
  readonly leftOut: number;
  /** The record with those readings as −1, for fitting the phase again without them; null when there are none. */
  readonly masked: Int32Array | null;
}

/**
 * Sorts a periodic record by phase: per slope and for both together, where the readings lie on the sweep and how often each code came; and the
 * noise, from readings out of order. One pass; positions are kept exactly up to bucketCount readings, and counted in buckets beyond, so that memory stays bounded.
 */
export function phaseSweep(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): PhaseSweep {
  const total = stretches.reduce((sum, s) => sum + s.last - s.first + 1, 0);
  const buckets = bucketCount(topCode + 1);
  const exact = total <= buckets;
  const bounds = boundsOf(codes, topCode, stretches, total, waveform);
  let leftOut = 0;
  let masked: Int32Array | null = null;
  const rising = new Half(topCode, exact ? total : 0, exact ? 0 : buckets);
  const falling = new Half(topCode, exact ? total : 0, exact ? 0 : buckets);
  for (const { first, last, frequency, start } of stretches) {
    for (let n = first; n <= last; n++) {
      const x = frequency * n + start;
      const turn = x - Math.floor(x);
      const position = turn < 0.5 ? 2 * turn : 2 - 2 * turn;
      const code = codes[n]!;
      if (bounds !== null && !isPossible(bounds, position, code)) {
        leftOut++;
        masked ??= codes.slice();
        masked[n] = -1;
      } else if (turn < 0.5) rising.add(position, code);
      else falling.add(position, code);
    }
  }
  const up = rising.histogram();
  const down = falling.histogram();
  const both: CodeHistogram = {
    counts: up.counts.map((c, k) => c + down.counts[k]!),
    below: up.below + down.below,
    above: up.above + down.above,
    total: total - leftOut,
  };
  const noise = noiseOfPhases(codes, topCode, stretches, waveform);
  if (exact) {
    const upward = sortPositions(rising.positions());
    const downward = sortPositions(falling.positions());
    return {
      both: { grid: gridOf(merged(upward, downward)), histogram: both },
      rising: { grid: gridOf(upward), histogram: up },
      falling: { grid: gridOf(downward), histogram: down },
      noise,
      leftOut,
      masked,
    };
  }
  const { counts, sums } = rising.buckets();
  const { counts: countsDown, sums: sumsDown } = falling.buckets();
  const upward = gridOfBuckets(counts, sums);
  const downward = gridOfBuckets(countsDown, sumsDown);
  for (let b = 0; b < buckets; b++) {
    counts[b]! += countsDown[b]!;
    sums[b]! += sumsDown[b]!;
  }
  return {
    both: { grid: gridOfBuckets(counts, sums), histogram: both },
    rising: { grid: upward, histogram: up },
    falling: { grid: downward, histogram: down },
    noise,
    leftOut,
    masked,
  };
}

/** Readings that the codes' course is taken from. */
const SAMPLED = 8192;

function boundsOf(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  total: number,
  waveform: Waveform,
): CodeBounds | null {
  const stride = Math.max(1, Math.floor(total / SAMPLED));
  const positions: number[] = [];
  const sampled: number[] = [];
  for (const { first, last, frequency, start } of stretches) {
    for (let i = first; i <= last; i += stride) {
      // A stride in step with the tone would see few phases: a scrambled place within each stride does not.
      const n = Math.min(last, i + ((Math.imul(i, 0x9e3779b1) >>> 8) % stride));
      const x = frequency * n + start;
      const turn = x - Math.floor(x);
      positions.push(turn < 0.5 ? 2 * turn : 2 - 2 * turn);
      sampled.push(codes[n]!);
    }
  }
  return codeBounds(Float64Array.from(positions), Int32Array.from(sampled), topCode, waveform);
}

/** One slope while it is being counted. */
class Half {
  private readonly counts: Int32Array;
  private readonly topCode: number;
  private below = 0;
  private above = 0;
  private readings = 0;
  private readonly kept: Float64Array;
  private readonly last: number;
  /** Count and sum of each bucket side by side: a reading touches one place in memory. */
  private readonly pairs: Float64Array;

  /** Room for `most` positions, or `buckets` when they are not kept. */
  constructor(topCode: number, most: number, buckets: number) {
    this.topCode = topCode;
    this.counts = new Int32Array(topCode + 1);
    this.kept = new Float64Array(most);
    this.last = buckets - 1;
    this.pairs = new Float64Array(2 * buckets);
  }

  add(position: number, code: number): void {
    if (code < 0) this.below++;
    else if (code > this.topCode) this.above++;
    else this.counts[code]!++;
    const { last, pairs } = this;
    if (last < 0) this.kept[this.readings] = position;
    else {
      const at = 2 * Math.min(last, Math.floor(position * (last + 1)));
      pairs[at]!++;
      pairs[at + 1]! += position;
    }
    this.readings++;
  }

  buckets(): { counts: Int32Array; sums: Float64Array } {
    const counts = new Int32Array(this.last + 1);
    const sums = new Float64Array(this.last + 1);
    for (let b = 0; b <= this.last; b++) {
      counts[b] = this.pairs[2 * b]!;
      sums[b] = this.pairs[2 * b + 1]!;
    }
    return { counts, sums };
  }

  positions(): Float64Array {
    return this.kept.subarray(0, this.readings);
  }

  histogram(): CodeHistogram {
    return { counts: Float64Array.from(this.counts), below: this.below, above: this.above, total: this.readings };
  }
}

/** Readings a code and slope that the noise is sought in, at most: more only cost time. */
const PER_CODE = 128;
/** Readings that are sorted together with their codes. */
const MOST_SORTED = 1 << 15;
const WINDOWS = 16;
const TIES = 1 << 4;

/**
 * Noise of a periodic record. Long records are thinned without losing density, which a small noise needs: the first readings up to PER_CODE a code,
 * and of those only what falls into WINDOWS narrow windows of the sweep.
 */
function noiseOfPhases(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): SweepNoise {
  const most = PER_CODE * (topCode + 1);
  const total = stretches.reduce((sum, s) => sum + s.last - s.first + 1, 0);
  const share = Math.min(1, MOST_SORTED / Math.min(most, total));
  // 53 bits: two for the direction, the code, four for ties, the rest for the position.
  const codeUnit = 2 ** Math.ceil(Math.log2(topCode + 3));
  const placeUnit = 2 ** 51 / codeUnit / TIES;
  const keys: Float64Array[] = [];
  let left = most;
  for (const { first, last, frequency, start } of stretches) {
    const end = Math.min(last, first + left - 1);
    if (end < first) break;
    left -= end - first + 1;
    const kept = new Float64Array(end - first + 1);
    let count = 0;
    for (let n = first; n <= end; n++) {
      const x = frequency * n + start;
      const turn = x - Math.floor(x);
      const rising = turn < 0.5;
      const position = rising ? 2 * turn : 2 - 2 * turn;
      if (share < 1) {
        const window = position * WINDOWS;
        if (window - Math.floor(window) > share) continue;
      }
      // Rails hide the noise, and codes beyond them are no readings of this converter.
      const input = waveform.at(position);
      if (input < 1 || input > topCode) continue;
      // Direction and position sort; a scrambled bit pattern settles ties, which must not come sorted by code; the code rides in the low bits.
      const coarse = Math.floor((position + (rising ? 0 : 2)) * placeUnit);
      const tie = Math.imul(n, 0x9e3779b1) >>> 28;
      kept[count++] = (coarse * TIES + tie) * codeUnit + Math.min(topCode + 1, Math.max(0, codes[n]! + 1));
    }
    keys.push(kept.subarray(0, count));
  }
  const groups: SortedRun[] = [];
  // Each stretch and slope is a run of its own.
  for (const key of keys) {
    key.sort();
    let inputs: Lsb[] = [];
    let run: number[] = [];
    let current = -1;
    const flush = (): void => {
      if (inputs.length > 1)
        groups.push({ inputs: Float64Array.from(inputs), codes: Int32Array.from(run), rails: [1, topCode] });
      inputs = [];
      run = [];
    };
    for (const packed of key) {
      const place = Math.floor(packed / (codeUnit * TIES)) / placeUnit;
      const group = share < 1 ? Math.floor(place * WINDOWS) : Math.floor(place / 2);
      if (group !== current) flush();
      current = group;
      inputs.push(waveform.at(place < 2 ? place : place - 2));
      run.push(packed % codeUnit);
    }
    flush();
  }
  return noiseByInversions(groups);
}
