import { lineSums } from "./linearFit";
import { medianOf } from "./median";
import { inputAt, Waveform } from "./waveform";

/** See CodeBounds in lib/measure/transitionsOutliers.ts. */
export class CodeBounds {
  low: Float64Array = new Float64Array(0);
  high: Float64Array = new Float64Array(0);
}

/** Cells of the sweep that have bounds of their own. */
const CELLS = 4096;
/** Readings further from their own course than this many of its scatter (and SLACK codes) are no noise. */
const FAR: f64 = 10;
const SLACK: f64 = 3;
/** When more than this share lies outside, it is the course that is wrong. */
const MOST: f64 = 0.1;

/** See codeBounds in lib/measure/transitionsOutliers.ts. */
export function codeBounds(
  positions: Float64Array,
  codes: Int32Array,
  topCode: i32,
  waveform: Waveform,
): CodeBounds | null {
  const count = codes.length;
  let x = new Float64Array(count);
  let y = new Float64Array(count);
  let used = 0;
  for (let i = 0; i < count; i++) {
    if (codes[i] <= 0 || codes[i] >= topCode) continue;
    x[used] = inputAt(waveform, positions[i]);
    y[used++] = codes[i];
  }
  let slope: f64 = 1;
  let intercept: f64 = 0;
  let scatter: f64 = 0;
  for (let round = 0; round < 3; round++) {
    if (used < 32) return null;
    x = x.subarray(0, used);
    y = y.subarray(0, used);
    const line = lineSums(x, y);
    if (!(line.sxx > 0)) return null;
    slope = line.slope;
    intercept = line.meanY - slope * line.meanX;
    const apart = new Float64Array(used);
    for (let i = 0; i < used; i++) apart[i] = abs<f64>(y[i] - intercept - slope * x[i]);
    scatter = 1.4826 * medianOf(apart.slice(), used);
    const before = used;
    used = 0;
    for (let i = 0; i < before; i++) {
      if (apart[i] > 6 * scatter + 1) continue;
      x[used] = x[i];
      y[used++] = y[i];
    }
    if (used === before) break;
  }
  const bound = FAR * scatter + SLACK;
  let outside = 0;
  for (let i = 0; i < count; i++) {
    const code = min(topCode, max(0, codes[i]));
    if (abs<f64>(code - expected(slope, intercept, topCode, waveform, positions[i])) > bound) outside++;
  }
  if (!(slope > 0) || outside > MOST * count) return null;
  const low = new Float64Array(CELLS + 1);
  const high = new Float64Array(CELLS + 1);
  for (let c = 0; c <= CELLS; c++) {
    const from = expected(slope, intercept, topCode, waveform, <f64>c / CELLS);
    const to = expected(slope, intercept, topCode, waveform, min<f64>(1, <f64>(c + 1) / CELLS));
    low[c] = atRail(from - bound, topCode);
    high[c] = atRail(to + bound, topCode);
  }
  return { low, high };
}

function expected(slope: f64, intercept: f64, topCode: i32, waveform: Waveform, position: f64): f64 {
  return min<f64>(topCode, max<f64>(0, intercept + slope * inputAt(waveform, position)));
}

/** Beyond a rail is as good as at it: codes outside the range are another finding's matter. */
function atRail(code: f64, topCode: i32): f64 {
  return code <= 0 ? -Infinity : code >= topCode ? Infinity : code;
}

/** Whether a code can be a reading at this position, 0…1; bounds without cells allow all. */
export function isPossible(bounds: CodeBounds, position: f64, code: i32): bool {
  const low = bounds.low;
  const high = bounds.high;
  if (low.length === 0) return true;
  const cell = <i32>(position * CELLS);
  if (cell < 0 || cell >= min(low.length, high.length)) unreachable();
  return code >= unchecked(low[cell]) && code <= unchecked(high[cell]);
}
