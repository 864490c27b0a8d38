import { inputAt, shareBelow, Waveform } from "./waveform";

/**
 * Readings that an ideal converter would have given of each code; NaN where the waveform does not reach.
 * @param firstTransition  LSB above the bottom of the range
 * @param codes  how many codes there are
 * @param total  all readings
 */
export function expectedCounts(
  waveform: Waveform,
  low: f64,
  lsb: f64,
  firstTransition: f64,
  codes: i32,
  total: f64,
): Float64Array {
  const expected = new Float64Array(codes);
  let from = waveform.lowest;
  for (let code = 0; code < codes; code++) {
    const to = code === codes - 1 ? waveform.highest : (low + (firstTransition + code) * lsb - low) / lsb;
    expected[code] =
      to > waveform.lowest && from < waveform.highest
        ? total * (shareBelow(waveform, to) - shareBelow(waveform, from))
        : NaN;
    from = to;
  }
  return expected;
}

/**
 * See plainTransitions in lib/measure/transitionsPlain.ts.
 * @param below  readings below each code, k = 0…topCode
 */
export function plainTransitions(waveform: Waveform, below: Float64Array, total: f64): Float64Array {
  const levels = new Float64Array(below.length).fill(NaN);
  for (let k = 1; k < levels.length; k++)
    if (below[k] > 0 && below[k] < total) levels[k] = inputAt(waveform, below[k] / total);
  return levels;
}

/** How far apart curves are at most. */
export function largestDifference(a: Float64Array, b: Float64Array): f64 {
  let most: f64 = 0;
  for (let i = 0; i < b.length; i++) {
    const difference = abs<f64>(a[i] - b[i]);
    if (difference > most) most = difference;
  }
  return most;
}

/** Σ of the squared gaps between positions: 1/how many of them there are where they are even. */
export function gapSquares(positions: Float64Array): f64 {
  let square: f64 = 0;
  for (let j = 1; j < positions.length; j++) {
    const gap = positions[j] - positions[j - 1];
    square += gap * gap;
  }
  return square;
}
