import { kernels } from "../kernels/kernels.generated.js";
import type { SineFit } from "./sineFit.ts";

/** Values worked out ahead. */
const BLOCK = 1024;

/**
 * A fitted sine's value at readings asked for in order, without a cosine a reading.
 * @returns the value, in codes, at reading n; asked out of order it is as good, but slower
 */
export function alongSine(
  sine: Pick<SineFit, "cyclesPerReading" | "phase" | "amplitude" | "offset">,
): (n: number) => number {
  let values: Float64Array = new Float64Array(0);
  // A whole number, so that the check costs next to nothing.
  let from = 0;
  return (n) => {
    let at = n - from;
    if (at < 0 || at >= values.length) {
      values = kernels.sineValues(sine, n, BLOCK);
      from = n;
      at = 0;
    }
    return values[at]!;
  };
}
