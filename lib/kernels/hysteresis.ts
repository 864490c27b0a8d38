import { correlatedCount, Transitions } from "./staticLineErrors";
import { symmetricSolve } from "./symmetricSolve";
import { shareBelow, slopeAt, Waveform } from "./waveform";

/** See DirectionDifference in lib/measure/hysteresis.ts. */
export class DirectionDifference {
  difference: Float64Array = new Float64Array(0);
  standard: Float64Array = new Float64Array(0);
  noiseFactor: f64 = 1;
}

/**
 * See directionDifference in lib/measure/hysteresis.ts.
 * @param risingFrom, fallingFrom  index of the lowest transition in common
 * @param count  transitions in common
 * @param step   codes from one to the next
 */
export function directionDifference(
  rising: Transitions,
  falling: Transitions,
  risingFrom: i32,
  fallingFrom: i32,
  count: i32,
  step: i32,
  waveform: Waveform,
  delayFree: bool,
): DirectionDifference {
  const difference = new Float64Array(count);
  const standard = new Float64Array(count);
  const rate = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const r = risingFrom + i;
    const f = fallingFrom + i;
    difference[i] = rising.inputs[r] - falling.inputs[f];
    const noise = rising.noise[r] * rising.noise[r] + falling.noise[f] * falling.noise[f];
    standard[i] = sqrt<f64>(noise + (rising.gap[r] * rising.gap[r] + falling.gap[f] * falling.gap[f]) / 3);
    rate[i] = slopeAt(waveform, shareBelow(waveform, (rising.inputs[r] + falling.inputs[f]) / 2));
  }
  const correlated = correlatedCount(count, rising.sigma / step);
  const delay = delayFree ? new Delay() : delayOf(difference, standard, rate, waveform.sine, correlated);
  for (let i = 0; i < count; i++) difference[i] -= delay.delay * rate[i];
  const factor = noiseFactor(difference, standard, correlated);
  for (let i = 0; i < count; i++) standard[i] = Math.hypot(standard[i], delay.doubt * rate[i]);
  return { difference, standard, noiseFactor: factor };
}

const SEGMENTS = 8;

/**
 * Compares the scatter of the difference about its own course (a straight line in each eighth of the range: hysteresis is smooth) with what the uncertainties
 * say. Neighbours share their noise, so that fewer codes than there are count; only a clear excess is taken.
 */
function noiseFactor(difference: Float64Array, standard: Float64Array, correlated: f64): f64 {
  const count = difference.length;
  const independent = count / max<f64>(2, correlated);
  if (independent < 4 * SEGMENTS) return 1;
  let square: f64 = 0;
  for (let s = 0; s < SEGMENTS; s++) {
    const from = (s * count) / SEGMENTS;
    const to = ((s + 1) * count) / SEGMENTS;
    const middle = <f64>(from + to - 1) / 2;
    let mean: f64 = 0;
    for (let i = from; i < to; i++) mean += difference[i] / (to - from);
    let xx: f64 = 0;
    let xy: f64 = 0;
    for (let i = from; i < to; i++) {
      xx += (i - middle) * (i - middle);
      xy += (i - middle) * (difference[i] - mean);
    }
    const slope = xy / xx;
    for (let i = from; i < to; i++) {
      const e = (difference[i] - mean - slope * (i - middle)) / standard[i];
      square += e * e;
    }
  }
  const excess = square / (count - (2 * SEGMENTS * count) / independent);
  return excess > 1 + 4 * sqrt<f64>(2 / independent) ? sqrt<f64>(excess) : 1;
}

class Delay {
  delay: f64 = 0;
  /** Standard uncertainty. */
  doubt: f64 = 0;
}

/** A constant difference is believed from here on, in its standard uncertainties. */
const BELIEVED: f64 = 3;

/**
 * Weighted least squares of the difference on the rate, beside a constant where the two can be told apart (a sine).
 * Without a constant that stands out, the fitted phase has taken up all delay there is, and taking out more would only add noise.
 */
function delayOf(
  difference: Float64Array,
  standard: Float64Array,
  rate: Float64Array,
  sine: bool,
  correlated: f64,
): Delay {
  const found = new Delay();
  const p = sine ? 2 : 1;
  const H = new Float64Array(p * p);
  const g = new Float64Array(p);
  for (let i = 0; i < difference.length; i++) {
    const w = 1 / (standard[i] * standard[i]);
    const wr = w * rate[i];
    g[0] += wr * difference[i];
    H[0] += wr * rate[i];
    if (!sine) continue;
    g[1] += w * difference[i];
    H[1] += wr;
    H[3] += w;
  }
  if (sine) H[2] = H[1];
  const solved = symmetricSolve(H, g);
  if (solved === null) return found;
  if (sine && abs<f64>(solved.x[1]) < BELIEVED * sqrt<f64>(solved.inverse[3] * correlated)) return found;
  found.delay = solved.x[0];
  found.doubt = sqrt<f64>(solved.inverse[0] * correlated);
  return found;
}
