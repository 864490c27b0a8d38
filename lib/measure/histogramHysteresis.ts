import { METRICS } from "../bench/metrics.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { Random } from "../signal/random.ts";
import { drawsFor, extremeEstimator } from "./extremes.ts";
import { uselessLevel } from "./histogramWorth.ts";
import type { DirectionDifference } from "./hysteresis.ts";
import type { Estimate } from "./measurement.ts";
import type { Sweep } from "./transitionsSweep.ts";

const DRAWN = 100_000;

/** Largest |T_rising − T_falling| with its interval; of a triangle the part that a delay would explain as well is not claimed. */
export function hysteresisEstimate(
  { difference, standard }: DirectionDifference,
  sweep: Sweep,
  factor: number,
  bits: number,
  random: Random,
): Estimate {
  const { unit } = METRICS.hysteresis;
  const typical = 1.96 * factor * standard.slice().sort()[standard.length >> 1]!;
  if (typical > uselessLevel(bits))
    return {
      value: null,
      unit,
      method: `${sweep.kind} histogram, both slopes apart`,
      reason: `the readings of each slope leave the typical transition at ±${typical.toFixed(1)} LSB`,
      low: null,
      high: null,
      limits: [],
    };
  const u = standard.map((s) => s * factor);
  let own = 0;
  for (const s of u) own += s ** 2 / u.length;
  const estimator = extremeEstimator({ values: difference, standard: u, ownVariance: own, sign: 0, atLeast: 0 });
  random.takeTurn();
  const draws = drawsFor(estimator, DRAWN, u.length);
  const excesses = kernels.independentExcesses(estimator.candidates, u, draws);
  const { value, low, high, route } = estimator.result(excesses);
  const method = `${sweep.kind} histogram, both slopes apart, ${route === "shrinkage" ? "bias of a maximum taken off" : "simultaneous interval"}; `;
  const shares = [{ from: "noise of single transitions", standard: Math.sqrt(own) }];
  if (sweep.kind === "triangle" && !sweep.delayFree)
    return {
      value: null,
      unit,
      method: `${method}a constant part left out`,
      reason: `a constant hysteresis cannot be told from a delay between source and log; what varies over the range is ${value.toFixed(2)} LSB`,
      low: Math.max(0, low),
      high: null,
      limits: [],
      shares,
    };
  return {
    value,
    unit,
    method: `${method}a delay (in proportion to the slope) taken out`,
    low,
    high,
    limits: [],
    shares,
  };
}
