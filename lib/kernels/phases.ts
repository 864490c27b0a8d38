import { CodeBounds, isPossible } from "./codeBounds";
import { inputAt, Waveform } from "./waveform";

/** Readings of a periodic stimulus by direction: turn (frequency·n + start) mod 1 is 0 at the lowest input, rising until ½. */
export class PlacedReadings {
  /** Positions of those on the rising slope, in order of time; empty where they were put in buckets. */
  rising: Float64Array = new Float64Array(0);
  falling: Float64Array = new Float64Array(0);
  /** Readings, counted from the chunk's first, whose codes cannot belong to their place. */
  leftOut: Int32Array = new Int32Array(0);
}

/**
 * Sorts a chunk of readings by direction and place.
 * @param first  number of the chunk's first reading in the record
 * @param intoFilled  readings of each bucket: those of the rising slope, then of the falling one; empty where positions are to be kept
 * @param intoCounts  of the rising slope and then of the falling one: readings below the range, of each code, above the range
 */
export function placeReadings(
  codes: Int32Array,
  first: f64,
  frequency: f64,
  start: f64,
  topCode: i32,
  bounds: CodeBounds,
  intoFilled: Int32Array,
  intoCounts: Int32Array,
): PlacedReadings {
  const count = codes.length;
  const slot = topCode + 3;
  const buckets = intoFilled.length / 2;
  const back = slot + 1;
  if (slot < 2 || intoCounts.length < 2 * slot) unreachable();
  const beyond = topCode + 1;
  const lastBucket = buckets - 1;
  const bucketsInAll: f64 = buckets;
  const kept = buckets === 0 ? count : 0;
  const rising = new Float64Array(kept);
  const falling = new Float64Array(kept);
  // Most records leave none out.
  let leftOut = new Int32Array(0);
  let up = 0;
  let down = 0;
  let out = 0;
  for (let i = 0; i < count; i++) {
    const x = frequency * (first + i) + start;
    const turn = x - floor<f64>(x);
    const isRising = turn < 0.5;
    const position = isRising ? 2 * turn : 2 - 2 * turn;
    const code = unchecked(codes[i]);
    if (!isPossible(bounds, position, code)) {
      if (out === 0) leftOut = new Int32Array(count);
      leftOut[out++] = i;
      continue;
    }
    const place = (isRising ? 1 : back) + max(-1, min(beyond, code));
    unchecked(intoCounts[place]++);
    if (buckets > 0) {
      // A position is not negative, so that its bucket needs no lower bound.
      const bucket = (isRising ? 0 : buckets) + min(lastBucket, <i32>(position * bucketsInAll));
      unchecked(intoFilled[bucket]++);
    } else if (isRising) unchecked((rising[up++] = position));
    else unchecked((falling[down++] = position));
  }
  return {
    rising: rising.slice(0, up),
    falling: falling.slice(0, down),
    leftOut: leftOut.slice(0, out),
  };
}

/** Positions of readings first, first + stride, …, each from a scrambled place within its stride. */
export class SampledReadings {
  positions: Float64Array = new Float64Array(0);
  /** Numbers of the readings. */
  readings: Int32Array = new Int32Array(0);
}

/** A stride in step with the tone would see few phases: a scrambled place within each stride does not. */
export function samplePhases(first: i32, last: i32, stride: i32, frequency: f64, start: f64): SampledReadings {
  const count = (last - first) / stride + 1;
  const positions = new Float64Array(count);
  const readings = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    const i = first + k * stride;
    const n = min(last, i + (((i * SCRAMBLE) >>> 8) % stride));
    const x = frequency * n + start;
    const turn = x - floor<f64>(x);
    positions[k] = turn < 0.5 ? 2 * turn : 2 - 2 * turn;
    readings[k] = n;
  }
  return { positions, readings };
}

/** 2³² over the golden ratio: products of whole numbers with it scatter evenly. */
const SCRAMBLE = <i32>0x9e3779b1;

/** How a reading's direction, place, tie and code share the 53 bits of a key. */
export class KeyUnits {
  /** A key's code is its remainder by this. */
  code: f64 = 0;
  /** Scrambled bits that settle ties, which must not come sorted by code. */
  ties: f64 = 0;
  /** Steps of the position to 1. */
  place: f64 = 0;
}

/**
 * Sort keys of a chunk's readings within the range: direction and position sort, the code rides in the low bits.
 * @param share  of each of `windows` equal windows of a slope whose readings are kept; 1: all
 */
export function phaseKeys(
  codes: Int32Array,
  first: i32,
  frequency: f64,
  start: f64,
  topCode: i32,
  waveform: Waveform,
  windows: i32,
  share: f64,
  units: KeyUnits,
): Float64Array {
  const keys = new Float64Array(codes.length);
  const unitCode = units.code;
  const unitTies = units.ties;
  const unitPlace = units.place;
  let count = 0;
  for (let i = 0; i < codes.length; i++) {
    const n = first + i;
    const x = frequency * n + start;
    const turn = x - floor<f64>(x);
    const rising = turn < 0.5;
    const position = rising ? 2 * turn : 2 - 2 * turn;
    if (share < 1) {
      const window = position * windows;
      if (abs<f64>(window - floor<f64>(window) - 0.5) > share / 2) continue;
    }
    // Rails hide the noise, and codes beyond them are no readings of this converter.
    const input = inputAt(waveform, position);
    if (input < 1 || input > topCode) continue;
    const coarse = floor<f64>((position + (rising ? 0.0 : 2.0)) * unitPlace);
    const tie = <f64>((n * SCRAMBLE) >>> 28);
    const code = min(topCode + 1, max(0, unchecked(codes[i]) + 1));
    unchecked((keys[count++] = (coarse * unitTies + tie) * unitCode + code));
  }
  return keys.slice(0, count);
}

/** Readings in order of their keys, as runs one after the other. */
export class SortedReadings {
  inputs: Float64Array = new Float64Array(0);
  codes: Int32Array = new Int32Array(0);
  /** Of each run: where it begins, and the first and last + 1 of its readings that lie clear of the sweep's ends. */
  runs: Int32Array = new Int32Array(0);
}

/** Splits sorted keys into runs: one a window and slope (share < 1), or one a slope. Clear of the ends: further than a window from both. */
export function runsOfKeys(
  keys: Float64Array,
  waveform: Waveform,
  windows: i32,
  share: f64,
  units: KeyUnits,
): SortedReadings {
  const count = keys.length;
  const inputs = new Float64Array(count);
  const codes = new Int32Array(count);
  const runs = new Int32Array(3 * (2 * windows + 2));
  let run = -1;
  let current: f64 = -1;
  for (let i = 0; i < count; i++) {
    const packed = keys[i];
    const place = floor<f64>(packed / (units.code * units.ties)) / units.place;
    const group = share < 1 ? floor<f64>(place * windows) : floor<f64>(place / 2);
    if (group !== current) {
      run++;
      runs[3 * run] = i;
      runs[3 * run + 1] = i;
      runs[3 * run + 2] = i;
    }
    current = group;
    const position = place < 2 ? place : place - 2;
    inputs[i] = inputAt(waveform, position);
    // Along a sorted run they are one stretch.
    if (abs<f64>(position - 0.5) <= 0.5 - 1.0 / windows) {
      if (runs[3 * run + 2] === runs[3 * run]) runs[3 * run + 1] = i;
      runs[3 * run + 2] = i + 1;
    }
    codes[i] = <i32>(packed - floor<f64>(packed / units.code) * units.code);
  }
  return { inputs, codes, runs: runs.slice(0, 3 * (run + 1)) };
}
