import { kernels } from "../kernels/kernels.generated.js";
import type { CodeHistogram } from "../signal/codeHistogram.ts";
import { joined } from "../signal/joined.ts";
import { MOST_AT_ONCE, piecesOf } from "../signal/readingsOf.ts";
import { bucketCount, type PositionGrid } from "./transitionsGrid.ts";
import { noiseByInversions, type SortedRun, type SweepNoise } from "./transitionsNoise.ts";
import { type CodeBounds, codeBounds } from "./transitionsOutliers.ts";
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

/** A periodic record by direction. */
export interface CountedPhases {
  readonly both: SweepHalf;
  readonly rising: SweepHalf;
  readonly falling: SweepHalf;
  /** Readings left out because their codes cannot belong to their place on the sweep. */
  readonly leftOut: number;
  /** The record with those readings as −1, for fitting the phase again without them; null when there are none. */
  readonly masked: Int32Array | null;
}

export interface PhaseSweep extends CountedPhases {
  readonly noise: SweepNoise;
}

/** Sorts a periodic record by phase (countPhases), and tells the noise from readings out of order. */
export function phaseSweep(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): PhaseSweep {
  return {
    ...countPhases(codes, topCode, stretches, waveform),
    noise: noiseOfPhases(codes, topCode, stretches, waveform),
  };
}

/** Bounds that allow every code. */
const UNBOUNDED: CodeBounds = { low: new Float64Array(0), high: new Float64Array(0) };

/**
 * Per slope and for both together, where the readings lie on the sweep and how often each code came. One pass; positions are kept exactly up to bucketCount
 * readings, and counted in buckets beyond, so that memory stays bounded.
 */
export function countPhases(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): CountedPhases {
  const total = stretches.reduce((sum, s) => sum + s.last - s.first + 1, 0);
  const buckets = bucketCount(topCode + 1);
  const exact = total <= buckets;
  const bounds = boundsOf(codes, topCode, stretches, total, waveform) ?? UNBOUNDED;
  let leftOut = 0;
  let masked: Int32Array | null = null;
  const slot = topCode + 3;
  // Of the rising slope and then of the falling one: readings below the range, of each code, above the range.
  const counts = new Int32Array(2 * slot);
  const rising = new Float64Array(exact ? total : 0);
  const falling = new Float64Array(exact ? total : 0);
  let up = 0;
  let down = 0;
  // Readings in each bucket, rising and then falling.
  const filled = new Int32Array(exact ? 0 : 2 * buckets);
  for (const { first, last, frequency, start } of stretches) {
    for (const { from, to } of piecesOf(last - first + 1, Math.max(MOST_AT_ONCE, filled.length))) {
      const piece = codes.subarray(first + from, first + to);
      const placed = kernels.placeReadings(piece, first + from, frequency, start, topCode, bounds, filled, counts);
      rising.set(placed.rising, up);
      falling.set(placed.falling, down);
      up += placed.rising.length;
      down += placed.falling.length;
      leftOut += placed.leftOut.length;
      for (const i of placed.leftOut) {
        masked ??= codes.slice();
        masked[first + from + i] = -1;
      }
    }
  }
  const grids = exact
    ? sortedGrids(rising.subarray(0, up), falling.subarray(0, down))
    : bucketGrids(filled.subarray(0, buckets), filled.subarray(buckets));
  const half = (grid: PositionGrid, histogram: CodeHistogram): SweepHalf => ({ grid, histogram });
  const upward = histogramOf(counts.subarray(0, slot));
  const downward = histogramOf(counts.subarray(slot));
  for (let i = 0; i < slot; i++) counts[i]! += counts[slot + i]!;
  return {
    both: half(grids.both, histogramOf(counts.subarray(0, slot))),
    rising: half(grids.rising, upward),
    falling: half(grids.falling, downward),
    leftOut,
    masked,
  };
}

function sortedGrids(rising: Float64Array, falling: Float64Array): Record<"both" | "rising" | "falling", PositionGrid> {
  const upward = kernels.sortedPositions(rising);
  const downward = kernels.sortedPositions(falling);
  return {
    both: kernels.gridOf(kernels.merged(upward, downward)),
    rising: kernels.gridOf(upward),
    falling: kernels.gridOf(downward),
  };
}

function bucketGrids(rising: Int32Array, falling: Int32Array): Record<"both" | "rising" | "falling", PositionGrid> {
  const none = new Int32Array(0);
  return {
    both: kernels.gridOfBuckets(rising, falling),
    rising: kernels.gridOfBuckets(rising, none),
    falling: kernels.gridOfBuckets(falling, none),
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
  const positions: Float64Array[] = [];
  const sampled: Int32Array[] = [];
  for (const { first, last, frequency, start } of stretches) {
    const sample = kernels.samplePhases(first, last, stride, frequency, start);
    positions.push(sample.positions);
    sampled.push(sample.readings.map((n) => codes[n]!));
  }
  return codeBounds(joined(Float64Array, positions), joined(Int32Array, sampled), topCode, waveform);
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
  const code = 2 ** Math.ceil(Math.log2(topCode + 3));
  const units = { code, ties: TIES, place: 2 ** 51 / code / TIES };
  const groups: WholeRun[] = [];
  let left = most;
  // Each stretch and slope is a run of its own.
  for (const { first, last, frequency, start } of stretches) {
    const end = Math.min(last, first + left - 1);
    if (end < first) break;
    left -= end - first + 1;
    const chunks: Float64Array[] = [];
    for (const { from, to } of piecesOf(end - first + 1)) {
      const piece = codes.subarray(first + from, first + to);
      chunks.push(kernels.phaseKeys(piece, first + from, frequency, start, topCode, waveform, WINDOWS, share, units));
    }
    const {
      inputs,
      codes: run,
      runs,
    } = kernels.runsOfKeys(joined(Float64Array, chunks).sort(), waveform, WINDOWS, share, units);
    for (let r = 0; r < runs.length; r += 3) {
      const [from, clearFrom, clearTo] = runs.subarray(r, r + 3) as unknown as [number, number, number];
      const to = runs[r + 3] ?? inputs.length;
      if (to - from < 2) continue;
      groups.push({
        inputs: inputs.subarray(from, to),
        codes: run.subarray(from, to),
        rails: [1, topCode],
        clear: [clearFrom - from, clearTo - from],
      });
    }
  }
  return groups;
}
