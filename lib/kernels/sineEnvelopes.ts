import { AlongSine, BLOCK, Sine } from "./alongSine";

/** Widens the interval whose ends stand at `at` and `at` + 1, known to lie within. */
function widen(intervals: Float64Array, at: i32, value: f64): void {
  if (!(unchecked(intervals[at]) <= value)) unchecked((intervals[at] = value));
  if (!(unchecked(intervals[at + 1]) >= value)) unchecked((intervals[at + 1] = value));
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
 * Adds readings to the smallest and largest values of a record with a sine in it, each pair from element 2·i; NaN where there is none yet.
 * @param intoCodes   of the codes, slice by slice of the sine's period
 * @param intoBlocks  of what the sine leaves, block by block of the part that it is fitted to
 * @param intoSlices  of what the sine leaves of that part, slice by slice of the period
 * @param intoSums    Σ and count of those, from element 2·i
 * @param first   number of the first reading in the record
 * @param place   of the first in the part that the sine is fitted to; negative where they are not of it
 * @param each    readings in a block of the part
 * @param most    how many readings are laid over the period, of the record and of the part
 * @param bottom  readings at or below it stand at a rail, as do those at or above `top`: what the sine leaves of them is left out
 * @returns whether any stands at a rail
 */
export function addToSineEnvelopes(
  intoCodes: Float64Array,
  intoBlocks: Float64Array,
  intoSlices: Float64Array,
  intoSums: Float64Array,
  codes: Int32Array,
  sine: Sine,
  first: f64,
  place: f64,
  each: i32,
  most: f64,
  bottom: i32,
  top: i32,
): bool {
  const inCodes = intoCodes.length / 2;
  const inSlices = intoSlices.length / 2;
  // Every slice and block that is added to below is then one of the tables'.
  if (inCodes < 1 || inSlices < 1 || intoSums.length < 2 * inSlices) unreachable();
  if (place >= 0 && 2 * <i32>((place + codes.length - 1) / each) + 1 >= intoBlocks.length) unreachable();
  const along = new AlongSine(sine, first);
  const slices = new StaticArray<i32>(BLOCK);
  let railed = false;
  let block = 2 * <i32>(place / each);
  let blockEnd = (block / 2 + 1) * each - <i32>place;
  for (let from = 0; from < codes.length; from += BLOCK) {
    const to = min(codes.length, from + BLOCK);
    setSlices(slices, inCodes, sine, first + from);
    const codesTo = <i32>min<f64>(to, most - first);
    for (let i = from; i < to; i++) {
      const code = unchecked(codes[i]);
      if (code <= bottom || code >= top) railed = true;
      if (i < codesTo) widen(intoCodes, 2 * unchecked(slices[i - from]), code);
    }
    if (place < 0) continue;
    const values = along.ahead();
    if (inSlices !== inCodes) setSlices(slices, inSlices, sine, first + from);
    const leftTo = <i32>min<f64>(to, most - place);
    for (let i = from; i < to; i++) {
      if (i === blockEnd) {
        block += 2;
        blockEnd += each;
      }
      const code = unchecked(codes[i]);
      if (code <= bottom || code >= top) continue;
      const left = <f64>code - unchecked(values[i - from]);
      widen(intoBlocks, block, left);
      if (i >= leftTo) continue;
      const slice = 2 * unchecked(slices[i - from]);
      widen(intoSlices, slice, left);
      unchecked((intoSums[slice] += left));
      unchecked((intoSums[slice + 1] += 1));
    }
  }
  return railed;
}
