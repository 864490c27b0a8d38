import { Sine } from "./alongSine";
import { medianDistance } from "./median";
import { UsableCodes } from "./usableCodes";

/** Standard deviation of the bulk of evenly picked readings about a sine: see robustDeviation in lib/match/robust.ts. */
export function typicalDeviation(codes: Int32Array, sine: Sine, stride: i32, usable: UsableCodes): f64 {
  const left = new Float64Array(codes.length);
  for (let i = 0; i < codes.length; i++) {
    const code: f64 = unchecked(codes[i]);
    const turns = sine.cyclesPerReading * <f64>(i * stride);
    const phase = 2 * Math.PI * (turns - floor<f64>(turns)) + sine.phase;
    const isUsable = code > usable.floor && code < usable.ceiling;
    unchecked((left[i] = isUsable ? code - sine.offset - sine.amplitude * Math.cos(phase) : NaN));
  }
  return 1.4826 * medianDistance(left, 0);
}
