import { Sine } from "./alongSine";
import { Harmonics, harmonicValue } from "./harmonics";

/**
 * Readings about the tone's offset, and with tone and harmonics taken off, each with its window, as one complex signal: the first in the real parts, the second in the imaginary ones.
 * @param codes     readings from `start` on, of a record of `readings`
 * @param table     values of the harmonics at phases 0, 1/steps … 1; empty: each is computed as it is met
 * @param steps     between two of them lies a straight line
 * @param into      twice as long as the codes
 */
export function windowedTone(
  codes: Int32Array,
  start: i32,
  readings: i32,
  tone: Sine,
  harmonics: Harmonics,
  table: Float64Array,
  steps: i32,
  rawWindow: Float64Array,
  residualWindow: Float64Array,
  into: Float64Array,
): void {
  const f = tone.cyclesPerReading;
  const centre = <f64>(readings - 1) / 2;
  const stepC = Math.cos(2 * Math.PI * f);
  const stepS = Math.sin(2 * Math.PI * f);
  const hasTable = table.length > 0;
  const hasLines = harmonics.order.length > 0;
  const count = codes.length;
  // Then the loop's own bounds hold for all of them: t lies in 0…1.
  if (into.length < 2 * count || rawWindow.length < count || residualWindow.length < count) unreachable();
  if (hasTable && table.length <= steps) unreachable();
  const offset = tone.offset;
  let c: f64 = 0;
  let s: f64 = 0;
  let t: f64 = 0;
  for (let i = 0; i < count; i++) {
    if ((i & 1023) === 0) {
      const n: f64 = start + i;
      const turns = f * n;
      const angle = 2 * Math.PI * (turns - floor<f64>(turns)) + tone.phase;
      c = tone.amplitude * Math.cos(angle);
      s = tone.amplitude * Math.sin(angle);
      const about = f * (n - centre);
      t = about - floor<f64>(about);
    }
    const y = <f64>unchecked(codes[i]) - offset;
    let h: f64 = 0;
    if (hasTable) {
      const place = t * steps;
      const at = <i32>place;
      const low = unchecked(table[at]);
      h = low + (unchecked(table[at + 1]) - low) * (place - at);
    } else if (hasLines) h = harmonicValue(harmonics, t);
    unchecked((into[2 * i] = y * rawWindow[i]));
    unchecked((into[2 * i + 1] = (y - c - h) * residualWindow[i]));
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
    t += f;
    if (t >= 1) t -= 1;
  }
}

/**
 * Noise level bin by bin from levels at some places: straight lines on a double logarithmic scale, carried on towards DC.
 * @param power  bins
 */
export function joinedLevels(centres: Float64Array, levels: Float64Array, bins: i32): Float64Array {
  const joined = new Float64Array(bins);
  const last = centres.length - 1;
  let block = 0;
  for (let k = 1; k < bins; k++) {
    while (block < centres.length - 2 && k > centres[block + 1]) block++;
    const next = min(block + 1, last);
    if (next === block || k >= centres[next]) {
      joined[k] = levels[next];
      continue;
    }
    const steepness = Math.log(levels[next] / levels[block]) / Math.log(centres[next] / centres[block]);
    // Before the first centre only a rise towards DC is carried on, and no faster than a drift's 1/f².
    const slope = k >= centres[block] ? steepness : max<f64>(-2, min<f64>(0, steepness));
    joined[k] = levels[block] * (<f64>k / centres[block]) ** slope;
  }
  joined[0] = joined[1];
  return joined;
}
