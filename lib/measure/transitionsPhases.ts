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
  // One plain loop over flat arrays, without a call a reading.
  const slot = topCode + 3;
  // Of the rising slope and then of the falling one: readings below the range, of each code, above the range.
  const counts = new Int32Array(2 * slot);
  // Rising from the front, falling from the back.
  const kept = new Float64Array(exact ? total : 0);
  let up = 0;
  let down = total;
  // Readings in each bucket, rising and then falling.
  const filled = new Int32Array(exact ? 0 : 2 * buckets);
  for (const { first, last, frequency, start } of stretches) {
    for (let n = first; n <= last; n++) {
      const x = frequency * n + start;
      const turn = x - Math.floor(x);
      const isRising = turn < 0.5;
      const position = isRising ? 2 * turn : 2 - 2 * turn;
      const code = codes[n]!;
      if (bounds !== null && !isPossible(bounds, position, code)) {
        leftOut++;
        masked ??= codes.slice();
        masked[n] = -1;
        continue;
      }
      counts[(isRising ? 1 : slot + 1) + Math.max(-1, Math.min(topCode + 1, code))]!++;
      if (exact) kept[isRising ? up++ : --down] = position;
      else filled[(isRising ? 0 : buckets) + Math.min(buckets - 1, Math.floor(position * buckets))]!++;
    }
  }
  const rising = histogramOf(counts.subarray(0, slot));
  const falling = histogramOf(counts.subarray(slot));
  const both: CodeHistogram = {
    counts: rising.counts.map((c, k) => c + falling.counts[k]!),
    below: rising.below + falling.below,
    above: rising.above + falling.above,
    total: total - leftOut,
  };
  const noise = noiseOfPhases(codes, topCode, stretches, waveform);
  let grids: Record<"both" | "rising" | "falling", PositionGrid>;
  if (exact) {
    const upward = sortPositions(kept.subarray(0, up));
    const downward = sortPositions(kept.subarray(down));
    grids = { both: gridOf(merged(upward, downward)), rising: gridOf(upward), falling: gridOf(downward) };
  } else {
    const upward = filled.subarray(0, buckets);
    const downward = filled.subarray(buckets);
    const together = upward.map((count, i) => count + downward[i]!);
    grids = { both: gridOfBuckets(together), rising: gridOfBuckets(upward), falling: gridOfBuckets(downward) };
  }
  return {
    both: { grid: grids.both, histogram: both },
    rising: { grid: grids.rising, histogram: rising },
    falling: { grid: grids.falling, histogram: falling },
    noise,
    leftOut,
    masked,
  };
}

/** @param counts  below the range, of each code, above the range */
function histogramOf(counts: Int32Array): CodeHistogram {
  const last = counts.length - 1;
  return {
    counts: Float64Array.from(counts.subarray(1, last)),
    below: counts[0]!,
    above: counts[last]!,
    total: counts.reduce((sum, c) => sum + c, 0),
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

/** Readings a code and slope that the noise is sought in, at most: more only cost time. */
const PER_CODE = 128;
/** Readings that are sorted together with their codes. */
const MOST_SORTED = 1 << 15;
const WINDOWS = 16;
/** So many tell the noise to some 10 %. */
const ENOUGH_INVERSIONS = 100;
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
  const runs = sortedRuns(codes, topCode, stretches, waveform);
  const inside = noiseByInversions(runs.map(withoutEnds).filter((run) => run.inputs.length > 1));
  // Where readings lie too far apart for the noise to put them out of order, only the turning points show it.
  return inside.inversions >= ENOUGH_INVERSIONS ? inside : noiseByInversions(runs);
}

/** A run, and which of its readings lie clear of the sweep's ends: where it turns, many readings share one place of one code, and no mean over codes is left. */
interface WholeRun extends SortedRun {
  readonly clear: readonly [from: number, to: number];
}

function withoutEnds({ inputs, codes, rails, clear: [from, to] }: WholeRun): SortedRun {
  return { inputs: inputs.subarray(from, to), codes: codes.subarray(from, to), rails };
}

/** Readings sorted along the sweep, one run a stretch, slope and window. */
function sortedRuns(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): WholeRun[] {
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
        if (Math.abs(window - Math.floor(window) - 0.5) > share / 2) continue;
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
  const groups: WholeRun[] = [];
  // Each stretch and slope is a run of its own.
  for (const key of keys) {
    key.sort();
    let inputs: Lsb[] = [];
    let run: number[] = [];
    let current = -1;
    let clear: [number, number] = [0, 0];
    const flush = (): void => {
      if (inputs.length > 1)
        groups.push({ inputs: Float64Array.from(inputs), codes: Int32Array.from(run), rails: [1, topCode], clear });
      inputs = [];
      run = [];
      clear = [0, 0];
    };
    for (const packed of key) {
      const place = Math.floor(packed / (codeUnit * TIES)) / placeUnit;
      const group = share < 1 ? Math.floor(place * WINDOWS) : Math.floor(place / 2);
      if (group !== current) flush();
      current = group;
      const position = place < 2 ? place : place - 2;
      inputs.push(waveform.at(position));
      // Along a sorted run they are one stretch.
      if (Math.abs(position - 0.5) <= 0.5 - 1 / WINDOWS) {
        if (clear[1] === 0) clear[0] = inputs.length - 1;
        clear[1] = inputs.length;
      }
      run.push(packed % codeUnit);
    }
    flush();
  }
  return groups;
}
