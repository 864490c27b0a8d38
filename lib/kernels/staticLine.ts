/** (G·T[k] + Vos − ideal T[k])/Q: see integralNonlinearity and unadjustedErrors in lib/measure/staticLine.ts. Ideal T = low + (place + i)·Q. */
export function linePlaceErrors(
  transitions: Float64Array,
  low: f64,
  lsb: f64,
  place: f64,
  gain: f64,
  offset: f64,
): Float64Array {
  const errors = new Float64Array(transitions.length);
  for (let i = 0; i < errors.length; i++)
    errors[i] = (gain * transitions[i] + offset - (low + (place + i) * lsb)) / lsb;
  return errors;
}

/** See differentialNonlinearity in lib/measure/staticLine.ts. */
export function differentialNonlinearity(transitions: Float64Array, lsb: f64, gain: f64): Float64Array {
  const count = transitions.length;
  const dnl = new Float64Array(count).fill(NaN);
  for (let i = 0; i + 1 < count; i++) dnl[i] = (gain * (transitions[i + 1] - transitions[i])) / lsb - 1;
  return dnl;
}
