import { gapCubes, neighbourhood, PositionGrid, quantile, unevenness } from "./positionGrid";
import { COARSE, Corrected, FINE, Freeing, Quadrature } from "./smearedShare";
import { UnevenPhases } from "./unevenPhases";
import { inputAt, slopeAt, Waveform } from "./waveform";

/** See Transitions in lib/measure/transitions.ts. */
export class LocatedTransitions {
  first: i32 = 0;
  inputs: Float64Array = new Float64Array(0);
  noise: Float64Array = new Float64Array(0);
  gap: Float64Array = new Float64Array(0);
  density: Float64Array = new Float64Array(0);
}

/** Squared stray of the count over its variance from noise, from where it is corrected: it would add a tenth to an uncertainty. */
const UNEVEN: f64 = 0.3;

/**
 * See locateTransitions in lib/measure/transitions.ts.
 * @param below  readings below each code, and all of them
 * @param standard  standard uncertainty of sigma
 * @param step  locate every step-th transition only
 */
export function locateTransitions(
  grid: PositionGrid,
  below: Float64Array,
  waveform: Waveform,
  sigma: f64,
  standard: f64,
  step: i32,
): LocatedTransitions {
  const top = below.length - 2;
  const inputs = new Float64Array(top);
  const noises = new Float64Array(top);
  const gaps = new Float64Array(top);
  const densities = new Float64Array(top);
  // Uneven readings matter where they could move T by more than a fraction of what noise does; most at the waveform's steepest place.
  const steepest = slopeAt(waveform, 0.5);
  const stray = unevenness(grid, sigma / steepest);
  const cubes = gapCubes(grid.positions);
  const coarse = new Quadrature(COARSE);
  const fine = new Quadrature(FINE);
  const even = new Freeing(waveform, sigma, coarse, fine);
  const uneven =
    sigma > 0 && stray * stray * steepest > UNEVEN * sigma * grid.readings
      ? new UnevenPhases(grid, waveform, sigma, coarse, fine)
      : null;
  let first = 0;
  let count = 0;
  let index = 0;
  for (let k = step; k <= top; k += step) {
    const m = below[k];
    if (!(m >= 1 && m <= grid.readings - 1)) {
      if (count > 0) break;
      continue;
    }
    const found = quantile(grid, m, index);
    index = found.index;
    const position = found.position;
    const raw = inputAt(waveform, position);
    // Near the turning points of a sine the slope vanishes; the noise still reaches a finite share of the sweep.
    const inward = position < 0.5 ? position + 1e-4 : position - 1e-4;
    const slope = max<f64>(max<f64>(slopeAt(waveform, position), slopeAt(waveform, inward)), 1e-9);
    let corrected: Corrected | null = null;
    if (uneven != null && stray * stray * slope > UNEVEN * sigma * grid.readings) corrected = uneven.freed(raw, m);
    const byPlace = corrected != null;
    if (corrected == null) corrected = even.freed(raw, waveform.sine);
    if (corrected == null) {
      if (count > 0) break;
      continue;
    }
    const near = neighbourhood(grid, cubes, position, (2 * sigma) / slope);
    const gap = slope * sqrt<f64>(near.gapSquare);
    const counting = Number.isNaN(corrected.perRootReading)
      ? sqrt<f64>((sigma * slope) / near.density / sqrt<f64>(Math.PI))
      : corrected.perRootReading / sqrt<f64>(byPlace ? grid.readings : near.density);
    // What is not known of σ moves the correction, which grows as σ².
    const shift = byPlace ? 0 : (2 * abs<f64>(corrected.x - raw) * standard) / max<f64>(sigma, 1e-9);
    if (count === 0) first = k;
    inputs[count] = corrected.x;
    noises[count] = Math.hypot(counting, shift);
    gaps[count] = byPlace ? 0 : (gap / 2) * Math.exp(-2 * ((Math.PI * sigma) / gap) ** 2);
    densities[count] = near.density / slope;
    count++;
  }
  return {
    first,
    inputs: inputs.slice(0, count),
    noise: noises.slice(0, count),
    gap: gaps.slice(0, count),
    density: densities.slice(0, count),
  };
}
