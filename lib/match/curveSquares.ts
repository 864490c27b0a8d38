/** Slices of half a cycle, in each of which the tone passes a few codes, and the least values in one. */
const SLICES = 2048;
const LEAST_IN_SLICE = 8;

/**
 * What the converter's own curve explains of what a tone leaves: the curve shows the same whenever the same code is passed, up or down, while noise, switching and drift do not.
 * From the products of different passes over the same slice of the half cycle between trough and peak, so that a pass never counts with itself; unbiased, and may come out below zero.
 * @param values  what is left, evenly spaced
 * @param cycles  of the tone, a value
 * @param phase   of the tone at value 0, rad; its peak at 0
 * @returns sum of squares over all values
 */
export function curveSquares(values: Float64Array, cycles: number, phase: number): number {
  const slices = Math.max(1, Math.min(SLICES, Math.floor(values.length / LEAST_IN_SLICE)));
  const pass = new Int32Array(slices).fill(-1);
  // Of the pass that goes on, and of all passes before: sum, count, and their squares.
  const own = { sum: new Float64Array(slices), count: new Float64Array(slices) };
  const all = { sum: new Float64Array(slices), count: new Float64Array(slices) };
  const squares = { sum: new Float64Array(slices), count: new Float64Array(slices) };
  const close = (slice: number): void => {
    for (const of of ["sum", "count"] as const) {
      all[of][slice]! += own[of][slice]!;
      squares[of][slice]! += own[of][slice]! ** 2;
      own[of][slice] = 0;
    }
  };
  const start = phase / (2 * Math.PI) + 1;
  values.forEach((x, i) => {
    const halves = 2 * (cycles * i + start);
    const half = Math.floor(halves);
    const within = halves - half;
    const slice = Math.min(slices - 1, Math.floor((half % 2 === 0 ? within : 1 - within) * slices));
    if (pass[slice] !== half) {
      close(slice);
      pass[slice] = half;
    }
    own.sum[slice]! += x;
    own.count[slice]!++;
  });
  let explained = 0;
  for (let slice = 0; slice < slices; slice++) {
    close(slice);
    const pairs = all.count[slice]! ** 2 - squares.count[slice]!;
    if (pairs > 0) explained += ((all.sum[slice]! ** 2 - squares.sum[slice]!) / pairs) * all.count[slice]!;
  }
  return explained;
}
