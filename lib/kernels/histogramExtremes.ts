import { ErrorDraws } from "./errorDraws";
import { ExtremeCandidates, excessOf } from "./extremes";
import { Transitions } from "./staticLineErrors";

/** By how much each draw lifts the extremes. */
export class HistogramExcesses {
  dnlMax: Float64Array = new Float64Array(0);
  dnlMin: Float64Array = new Float64Array(0);
  inlMax: Float64Array = new Float64Array(0);
  inlMin: Float64Array = new Float64Array(0);
  total: Float64Array = new Float64Array(0);
}

/**
 * What draws of the transitions' errors do to the extremes of DNL, INL and total unadjusted error.
 * @param widths  code widths for the correlation of neighbours
 * @param gain    G of the line
 */
export function histogramExcesses(
  tr: Transitions,
  widths: Float64Array,
  draws: i32,
  endpoint: bool,
  gain: f64,
  dnlMax: ExtremeCandidates,
  dnlMin: ExtremeCandidates,
  inlMax: ExtremeCandidates,
  inlMin: ExtremeCandidates,
  total: ExtremeCandidates,
): HistogramExcesses {
  const count = tr.inputs.length;
  const last = count - 1;
  const errors = new Float64Array(count);
  const found: HistogramExcesses = {
    dnlMax: new Float64Array(draws),
    dnlMin: new Float64Array(draws),
    inlMax: new Float64Array(draws),
    inlMin: new Float64Array(draws),
    total: new Float64Array(draws),
  };
  const chain = new ErrorDraws(tr, widths);
  for (let d = 0; d < draws; d++) {
    chain.draw(errors);
    // Intercept and slope per code of the errors' own line.
    let intercept = errors[0];
    let slope = (errors[last] - intercept) / last;
    if (!endpoint) {
      let sum: f64 = 0;
      let moment: f64 = 0;
      const middle = <f64>last / 2;
      for (let i = 0; i < count; i++) {
        const error = unchecked(errors[i]);
        sum += error;
        moment += error * (i - middle);
      }
      slope = (12 * moment) / (<f64>last * (last + 1) * (last + 2));
      intercept = sum / count - (slope * last) / 2;
    }
    found.dnlMax[d] = excessOfDnl(dnlMax, errors, gain);
    found.dnlMin[d] = excessOfDnl(dnlMin, errors, gain);
    found.inlMax[d] = excessOfInl(inlMax, errors, intercept, slope);
    found.inlMin[d] = excessOfInl(inlMin, errors, intercept, slope);
    found.total[d] = excessOf(total, errors);
  }
  return found;
}

// Loops of their own, called often: a function that runs once, however long, is never compiled by the optimising compiler.

function excessOfDnl(candidates: ExtremeCandidates, errors: Float64Array, gain: f64): f64 {
  const places = candidates.places;
  const values = candidates.values;
  const sign: f64 = candidates.sign;
  const count = errors.length;
  if (values.length < places.length) unreachable();
  let drawn = -Infinity;
  for (let c = 0; c < places.length; c++) {
    const i = unchecked(places[c]);
    if (i < 0 || i + 1 >= count) unreachable();
    const u = sign * (unchecked(values[c]) + gain * (unchecked(errors[i + 1]) - unchecked(errors[i])));
    if (u > drawn) drawn = u;
  }
  return drawn - candidates.top;
}

function excessOfInl(candidates: ExtremeCandidates, errors: Float64Array, intercept: f64, slope: f64): f64 {
  const places = candidates.places;
  const values = candidates.values;
  const sign: f64 = candidates.sign;
  const count = errors.length;
  if (values.length < places.length) unreachable();
  let drawn = -Infinity;
  for (let c = 0; c < places.length; c++) {
    const i = unchecked(places[c]);
    if (i < 0 || i >= count) unreachable();
    const u = sign * (unchecked(values[c]) + (unchecked(errors[i]) - intercept - slope * i));
    if (u > drawn) drawn = u;
  }
  return drawn - candidates.top;
}
