import { medianOf, select } from "./median";

/** The middle of some steps, and how far the bulk of them scatters. */
export class MiddleStep {
  step: f64 = 0;
  /** Root mean square distance of the three fifths nearest to the middle. */
  inner: f64 = 0;
}

/** @param isFolded  whether the steps' sizes are meant, without their signs */
export function middleStep(steps: Float64Array, isFolded: bool): MiddleStep {
  const count = steps.length;
  if (isFolded) for (let i = 0; i < count; i++) steps[i] = abs<f64>(steps[i]);
  const found = new MiddleStep();
  found.step = medianOf(steps, count);
  for (let i = 0; i < count; i++) steps[i] = abs<f64>(steps[i] - found.step);
  const inner = <i32>ceil<f64>(0.6 * count);
  select(steps, count, inner - 1);
  let squares: f64 = 0;
  for (let i = 0; i < inner; i++) squares += steps[i] * steps[i];
  found.inner = sqrt<f64>(squares / inner);
  return found;
}

/** Steps that differ from the usual one by more than is allowed. */
export class Steps {
  /** Their places, counted from the first asked about. */
  at: Int32Array = new Int32Array(0);
  steps: Float64Array = new Float64Array(0);
}

/**
 * Places at which the mean of `width` readings on, less that of as many before, differs from the usual size by more than `ahead` upwards or `back` downwards.
 * @param codes  from `width` readings before the first place to `width` − 1 after the last
 * @param sign   of the usual step of a ramp; 0 for a triangle, of whose steps the sizes count
 */
export function stepsBeyond(codes: Int32Array, width: i32, sign: f64, size: f64, ahead: f64, back: f64): Steps {
  const count = codes.length - 2 * width + 1;
  const steps = new Float64Array(count);
  let sum: f64 = 0;
  for (let i = 0; i < width; i++) sum += codes[width + i] - codes[i];
  let beyond = 0;
  for (let i = 0; i < count; i++) {
    if (i > 0) sum += codes[i + 2 * width - 1] - 2 * codes[i + width - 1] + codes[i - 1];
    steps[i] = sum / width;
    if (isBeyond(steps[i], sign, size, ahead, back)) beyond++;
  }
  const found = new Steps();
  found.at = new Int32Array(beyond);
  found.steps = new Float64Array(beyond);
  for (let i = 0, k = 0; k < beyond; i++) {
    if (!isBeyond(steps[i], sign, size, ahead, back)) continue;
    found.at[k] = i;
    found.steps[k++] = steps[i];
  }
  return found;
}

function isBeyond(step: f64, sign: f64, size: f64, ahead: f64, back: f64): bool {
  const away = sign === 0 ? abs<f64>(step) - size : step * sign - size;
  return away > ahead || away < -back;
}
