import { AlongSine, BLOCK, Sine } from "./alongSine";

/** Smallest and largest values of a record with a sine in it; NaN where there is none. */
export class SineEnvelopes {
  /** Of the codes, slice by slice of the sine's period. */
  codeLow: Float64Array = new Float64Array(0);
  codeHigh: Float64Array = new Float64Array(0);
  /** Of what the sine leaves, block by block of the part that it is fitted to. */
  blockLow: Float64Array = new Float64Array(0);
  blockHigh: Float64Array = new Float64Array(0);
  /** Of what the sine leaves of that part, slice by slice of the period, with Σ and count. */
  sliceLow: Float64Array = new Float64Array(0);
  sliceHigh: Float64Array = new Float64Array(0);
  sliceSum: Float64Array = new Float64Array(0);
  sliceCount: Float64Array = new Float64Array(0);
  /** Whether a reading stands at or beyond a rail. */
  railed: bool = false;
}

/** Widens an interval where the index is known to lie within. */
function widen(low: Float64Array, high: Float64Array, at: i32, value: f64): void {
  if (!(unchecked(low[at]) <= value)) unchecked((low[at] = value));
  if (!(unchecked(high[at]) >= value)) unchecked((high[at] = value));
}

/** Slices of the sine's period, of so many, that readings `first` on fall into. */
function setSlices(slices: StaticArray<i32>, inPeriod: i32, sine: Sine, first: f64): void {
  const start = sine.phase / (2 * Math.PI);
  const f = sine.cyclesPerReading;
  const scale = <f64>inPeriod;
  for (let i = 0; i < slices.length; i++) {
    const turn = start + (first + i) * f;
    unchecked((slices[i] = min(inPeriod - 1, <i32>((turn - floor<f64>(turn)) * scale))));
  }
}

/**
 * Adds readings to the envelopes.
 * @param first   number of the first in the record
 * @param place   of the first in the part that the sine is fitted to; negative where they are not of it
 * @param each    readings in a block of the part
 * @param most    how many readings are laid over the period, of the record and of the part
 * @param bottom  readings at or below it stand at a rail, as do those at or above `top`: what the sine leaves of them is left out
 */
export function addToSineEnvelopes(
  envelopes: SineEnvelopes,
  codes: Int32Array,
  sine: Sine,
  first: f64,
  place: f64,
  each: i32,
  most: f64,
  bottom: i32,
  top: i32,
): SineEnvelopes {
  const codeLow = envelopes.codeLow;
  const codeHigh = envelopes.codeHigh;
  const blockLow = envelopes.blockLow;
  const blockHigh = envelopes.blockHigh;
  const sliceLow = envelopes.sliceLow;
  const sliceHigh = envelopes.sliceHigh;
  const sliceSum = envelopes.sliceSum;
  const sliceCount = envelopes.sliceCount;
  const along = new AlongSine(sine, first);
  const slices = new StaticArray<i32>(BLOCK);
  let block = <i32>(place / each);
  let blockEnd = (block + 1) * each - <i32>place;
  for (let from = 0; from < codes.length; from += BLOCK) {
    const to = min(codes.length, from + BLOCK);
    setSlices(slices, codeLow.length, sine, first + from);
    const codesTo = <i32>min<f64>(to, most - first);
    for (let i = from; i < to; i++) {
      const code = unchecked(codes[i]);
      if (code <= bottom || code >= top) envelopes.railed = true;
      if (i < codesTo) widen(codeLow, codeHigh, unchecked(slices[i - from]), code);
    }
    if (place < 0) continue;
    const values = along.ahead();
    if (sliceLow.length !== codeLow.length) setSlices(slices, sliceLow.length, sine, first + from);
    const leftTo = <i32>min<f64>(to, most - place);
    for (let i = from; i < to; i++) {
      if (i === blockEnd) {
        block++;
        blockEnd += each;
      }
      const code = unchecked(codes[i]);
      if (code <= bottom || code >= top) continue;
      const left = <f64>code - unchecked(values[i - from]);
      if (!(blockLow[block] <= left)) blockLow[block] = left;
      if (!(blockHigh[block] >= left)) blockHigh[block] = left;
      if (i >= leftTo) continue;
      const slice = unchecked(slices[i - from]);
      widen(sliceLow, sliceHigh, slice, left);
      unchecked((sliceSum[slice] += left));
      unchecked((sliceCount[slice] += 1));
    }
  }
  return envelopes;
}
