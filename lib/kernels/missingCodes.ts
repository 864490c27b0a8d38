import { chiSquareQuantile } from "./incompleteGamma";
import { noiseCorrelation } from "./noiseCorrelation";
import { normalQuantile } from "./normal";

/** What missingCodes in lib/measure asks of transitions. */
export class NarrowTransitions {
  inputs: Float64Array = new Float64Array(0);
  noise: Float64Array = new Float64Array(0);
  gap: Float64Array = new Float64Array(0);
  density: Float64Array = new Float64Array(0);
  sigma: f64 = 0;
}

/** Codes, counted from the one above the first transition. */
export class MissingCodes {
  missing: Int32Array = new Int32Array(0);
  possiblyMissing: Int32Array = new Int32Array(0);
}

/** Garwood's upper bound of a count is kept for counts below this: few codes came more often than that and are narrow. */
const COUNTS_KEPT = 64;

/**
 * See missingCodes in lib/measure.
 * @param counts  readings of the codes from the one above the first transition on
 * @param narrow  a code narrower than this is missing, LSB
 */
export function missingCodes(tr: NarrowTransitions, counts: Float64Array, gain: f64, narrow: f64): MissingCodes {
  const inputs = tr.inputs;
  const noise = tr.noise;
  const gap = tr.gap;
  const last = inputs.length - 1;
  let suspects = 0;
  for (let i = 0; i < last; i++) if (gain * (inputs[i + 1] - inputs[i]) < 0.5) suspects++;
  // A false call can only come from the narrow codes, so the level is shared among them.
  const level = 0.025 / max(1, suspects);
  const zCall = normalQuantile(1 - level);
  const fresh = 1 - noiseCorrelation(narrow, tr.sigma);
  const bounds = new Float64Array(COUNTS_KEPT);
  const missing = new Int32Array(last);
  const possiblyMissing = new Int32Array(last);
  let surely = 0;
  let perhaps = 0;
  for (let i = 0; i < last; i++) {
    const width = gain * (inputs[i + 1] - inputs[i]);
    const gaps = (gap[i] * gap[i] + gap[i + 1] * gap[i + 1]) / 3;
    // The scatter that a code of this width would have.
    const scatter = sqrt<f64>(fresh * (noise[i] * noise[i] + noise[i + 1] * noise[i + 1]) + gaps);
    const h = counts[i];
    const mean = (narrow / gain) * tr.density[i];
    // Too few readings for such a code: chance of at most h where `mean` were expected. Noise only makes counts more even than Poisson's.
    const byCount = mean > h && mean > mostExpected(h, level, bounds);
    const byWidth = narrow - width > zCall * scatter && gap[i] + gap[i + 1] < narrow;
    if (byCount || byWidth) missing[surely++] = i;
    else if (width - 1.96 * scatter <= narrow) possiblyMissing[perhaps++] = i;
  }
  return { missing: missing.slice(0, surely), possiblyMissing: possiblyMissing.slice(0, perhaps) };
}

/** Garwood's upper bound of a count. */
function mostExpected(h: f64, level: f64, bounds: Float64Array): f64 {
  const kept = h < COUNTS_KEPT;
  if (kept && bounds[<i32>h] > 0) return bounds[<i32>h];
  const bound = chiSquareQuantile(1 - level, 2 * (h + 1)) / 2;
  if (kept) bounds[<i32>h] = bound;
  return bound;
}
