/** A triangle between its apexes: turns and frequency per reading, `start` the turn of reading 0, lowest at 0; codes. */
export class Triangle {
  frequency: f64 = 0;
  start: f64 = 0;
  offset: f64 = 0;
  amplitude: f64 = 0;
}

export function triangleAt(triangle: Triangle, n: f64): f64 {
  const x = triangle.frequency * n + triangle.start;
  const turn = x - floor<f64>(x);
  return triangle.offset + triangle.amplitude * (turn < 0.5 ? 4 * turn - 1 : 3 - 4 * turn);
}

/** A triangle's values at readings `first` on. */
export function triangleValues(triangle: Triangle, first: f64, count: i32): Float64Array {
  const values = new Float64Array(count);
  for (let i = 0; i < count; i++) values[i] = triangleAt(triangle, first + i);
  return values;
}

export function isRising(triangle: Triangle, n: f64): bool {
  const x = triangle.frequency * n + triangle.start;
  return x - floor<f64>(x) < 0.5;
}
