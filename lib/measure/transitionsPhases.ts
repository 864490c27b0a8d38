import type { Lsb } from "../bench/units.ts";
import type { CodeHistogram } from "../signal/codeHistogram.ts";
import { gridOf, gridOfBuckets, MOST_POSITIONS, merged, type PositionGrid, sortPositions } from "./transitionsGrid.ts";
import { noiseByInversions, type SortedRun, type SweepNoise } from "./transitionsNoise.ts";
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
}

/**
 * Sorts a periodic record by phase: per slope and for both together, where the readings lie on the sweep and how often each code came; and the
 * noise, from readings out of order. One pass; up to 2^21 readings their positions are kept exactly, beyond that they are counted in buckets.
 */
export function phaseSweep(
  codes: Int32Array,
  topCode: number,
  stretches: readonly PhaseStretch[],
  waveform: Waveform,
): PhaseSweep {
  const total = stretches.reduce((sum, s) => sum + s.last - s.first + 1, 0);
  const size = topCode + 1;
  const counts = { rising: new Int32Array(size), falling: new Int32Array(size) };
  const outside = { rising: { below: 0, above: 0 }, falling: { below: 0, above: 0 } };
  const keep = total <= MOST_POSITIONS;
  const risingAt = keep ? new Float64Array(total) : new Float64Array(0);
  const fallingAt = keep ? new Float64Array(total) : new Float64Array(0);
  const risingBuckets = new Int32Array(keep ? 0 : MOST_POSITIONS);
  const fallingBuckets = new Int32Array(keep ? 0 : MOST_POSITIONS);
  let up = 0;
  let down = 0;
  for (const { first, last, frequency, start } of stretches) {
    for (let n = first; n <= last; n++) {
      const x = frequency * n + start;
      const turn = x - Math.floor(x);
      const code = codes[n]!;
      const inside = code >= 0 && code <= topCode;
      if (turn < 0.5) {
        const position = 2 * turn;
        if (inside) counts.rising[code]!++;
        else if (code < 0) outside.rising.below++;
        else outside.rising.above++;
        if (keep) risingAt[up] = position;
        else risingBuckets[Math.floor(position * MOST_POSITIONS)]!++;
        up++;
      } else {
        const position = 2 - 2 * turn;
        if (inside) counts.falling[code]!++;
        else if (code < 0) outside.falling.below++;
        else outside.falling.above++;
        if (keep) fallingAt[down] = position;
        else fallingBuckets[Math.min(MOST_POSITIONS - 1, Math.floor(position * MOST_POSITIONS))]!++;
        down++;
      }
    }
  }
  const histogramOf = (side: "rising" | "falling", readings: number): CodeHistogram => ({
    counts: Float64Array.from(counts[side]),
    ...outside[side],
    total: readings,
  });
  const risingHistogram = histogramOf("rising", up);
  const fallingHistogram = histogramOf("falling", down);
  const bothHistogram: CodeHistogram = {
    counts: risingHistogram.counts.map((c, k) => c + fallingHistogram.counts[k]!),
    below: risingHistogram.below + fallingHistogram.below,
    above: risingHistogram.above + fallingHistogram.above,
    total,
  };
  let grids: { rising: PositionGrid; falling: PositionGrid; both: PositionGrid };
  if (keep) {
    const sortedUp = sortPositions(risingAt.subarray(0, up));
    const sortedDown = sortPositions(fallingAt.subarray(0, down));
    grids = { rising: gridOf(sortedUp), falling: gridOf(sortedDown), both: gridOf(merged(sortedUp, sortedDown)) };
  } else {
    const all = risingBuckets.map((c, b) => c + fallingBuckets[b]!);
    grids = {
      rising: gridOfBuckets(risingBuckets),
      falling: gridOfBuckets(fallingBuckets),
      both: gridOfBuckets(all),
    };
  }
  return {
    both: { grid: grids.both, histogram: bothHistogram },
    rising: { grid: grids.rising, histogram: risingHistogram },
    falling: { grid: grids.falling, histogram: fallingHistogram },
    noise: noiseOfPhases(codes, topCode, stretches, waveform),
  };
}

/** Readings a code and slope that the noise is sought in, at most: more only cost time. */
const PER_CODE = 128;
/** Readings that are sorted together with their codes. */
const MOST_SORTED = 1 << 16;
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
