import { kernels } from "../kernels/kernels.generated.js";
import { MOST_AT_ONCE } from "../signal/readingsOf.ts";

/** Averages of `width` codes each, `count` of them, from a first reading on. */
export function averages(codes: Int32Array, first: number, width: number, count: number): Float64Array {
  const means = new Float64Array(count);
  const most = Math.max(1, Math.floor(MOST_AT_ONCE / width));
  for (let i = 0; i < count; i += most) {
    const [from, to] = [first + i * width, first + Math.min(count, i + most) * width];
    means.set(kernels.averages(codes.subarray(from, to), width), i);
  }
  return means;
}
