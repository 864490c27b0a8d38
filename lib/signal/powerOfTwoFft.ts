import FFT from "fft.js";

// Tables of a size are worth keeping between the segments of one record; large ones are not worth their memory.
const LARGEST_KEPT = 1 << 17;
const kept = new Map<number, FFT>();

function planOf(size: number): FFT {
  const known = kept.get(size);
  if (known) return known;
  const plan = new FFT(size);
  if (size <= LARGEST_KEPT) kept.set(size, plan);
  return plan;
}

export function isPowerOfTwo(n: number): boolean {
  return n >= 1 && Number.isInteger(Math.log2(n));
}

/** Smallest power of two that is at least n. */
export function nextPowerOfTwo(n: number): number {
  return 2 ** Math.ceil(Math.log2(Math.max(1, n)));
}

/**
 * Complex transform of interleaved values, power-of-two length only: the kernel of the others.
 * @param data  [re0, im0, re1, im1, …], 2·N long, N a power of two
 * @param inverse  divides by N and turns the sign of the exponent
 * @param into     2·N long: where the transform goes; not `data` itself
 * @returns `into`
 * @throws RangeError  N is not a power of two
 */
export function fftInterleaved(
  data: Float64Array,
  inverse = false,
  into = new Float64Array(data.length),
): Float64Array {
  const size = data.length / 2;
  if (!isPowerOfTwo(size)) throw new RangeError(`fftInterleaved: length must be a power of two; got ${size}`);
  if (size === 1) into.set(data);
  else if (inverse) planOf(size).inverseTransform(into, data);
  else planOf(size).transform(into, data);
  return into;
}
