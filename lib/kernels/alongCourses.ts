import { AlongSine, Sine } from "./alongSine";

/** Moves of a sine's middle or amplitude along a record: see lib/match/driftingSine.ts. One entry of each array a course. */
export class Courses {
  sizes: Float64Array = new Float64Array(0);
  /** Shares of the record; 0 where it moves evenly. */
  timeConstants: Float64Array = new Float64Array(0);
  /** 1 where it is the amplitude that moves, 0 for the middle. */
  ofAmplitude: Uint8Array = new Uint8Array(0);
  /** The record that they run through. */
  first: f64 = 0;
  readings: f64 = 1;
}

/** A course over the record, t from 0 to 1. */
export function courseAt(t: f64, timeConstant: f64): f64 {
  return timeConstant === 0 ? t - 0.5 : Math.exp(-t / timeConstant);
}

/**
 * Means of `step` readings from `first` on of what a sine and its courses leave; 0 where the sine is not strictly between floor and ceiling, and says nothing.
 */
export function meansBesideSine(
  codes: Int32Array,
  sine: Sine,
  courses: Courses,
  first: f64,
  step: i32,
  floor: f64,
  ceiling: f64,
): Float64Array {
  const means = new Float64Array(codes.length / step);
  const along = new AlongSine(sine, first);
  const unit = new Sine();
  unit.cyclesPerReading = sine.cyclesPerReading;
  unit.phase = sine.phase;
  unit.amplitude = 1;
  const alongUnit = new AlongSine(unit, first);
  const count = courses.sizes.length;
  for (let i = 0, n = 0; i < means.length; i++) {
    let sum: f64 = 0;
    for (const end = n + step; n < end; n++) {
      const model = along.next();
      let course: f64 = 0;
      if (count > 0) {
        const cosine = alongUnit.next();
        const t = (first + n - courses.first) / courses.readings;
        for (let k = 0; k < count; k++)
          course +=
            courses.sizes[k] * courseAt(t, courses.timeConstants[k]) * (courses.ofAmplitude[k] !== 0 ? cosine : 1);
      }
      if (model > floor && model < ceiling) sum += codes[n] - model - course;
    }
    means[i] = sum / step;
  }
  return means;
}
