import type { SineFit } from "./sineFit.ts";

/** The pointer is turned on this far before cosine and sine set it anew: its rounding stays near 1e-13 of the amplitude. */
const BLOCK = 1024;

/**
 * A fitted sine's value at readings asked for in order, without a cosine a reading.
 * @returns the value, in codes, at reading n; asked out of order it is as good, but slower
 */
export function alongSine({
  cyclesPerReading,
  phase,
  amplitude,
  offset,
}: Pick<SineFit, "cyclesPerReading" | "phase" | "amplitude" | "offset">): (n: number) => number {
  const omega = 2 * Math.PI * cyclesPerReading;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const values = new Float64Array(BLOCK);
  // A whole number, so that the check costs next to nothing.
  let from = -BLOCK;
  const fill = (first: number): void => {
    const turns = cyclesPerReading * first;
    const theta = 2 * Math.PI * (turns - Math.floor(turns)) + phase;
    let c = amplitude * Math.cos(theta);
    let s = amplitude * Math.sin(theta);
    for (let i = 0; i < BLOCK; i++) {
      values[i] = offset + c;
      const turned = c * stepC - s * stepS;
      s = c * stepS + s * stepC;
      c = turned;
    }
    from = first;
  };
  return (n) => {
    let at = n - from;
    if (at < 0 || at >= BLOCK) {
      fill(n);
      at = 0;
    }
    return values[at]!;
  };
}
