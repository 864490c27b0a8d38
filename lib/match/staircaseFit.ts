import type { SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";
import type { Staircase } from "./staircaseSums.ts";

/** The sine through a record with its losses counted, codes and cycles per reading. */
export interface StaircaseFit {
  readonly rss: number;
  readonly cycles: number;
  readonly amplitude: number;
  readonly readings: number;
}

/** Rounds of the fit; it doubles the digits of the frequency each time. */
const ROUNDS = 4;

/** Least squares of level, amplitude, phase and frequency at the times at which readings were taken, missing ones counted. */
export function staircaseFit(
  codes: Int32Array,
  { every, first, missing, cycles: start }: Pick<Staircase, "every" | "first" | "missing" | "cycles">,
  whole: SineFit,
  usable: UsableCodes | null,
): StaircaseFit | null {
  const lead = first === 0 ? every : first;
  const half = codes.length / 2;
  let cycles = start;
  let [a, q] = [0, 0];
  let fit: StaircaseFit | null = null;
  const G = new Float64Array(16);
  const g = new Float64Array(4);
  const x = new Float64Array(4);
  for (let round = 0; round < ROUNDS; round++) {
    G.fill(0);
    g.fill(0);
    let yy = 0;
    let readings = 0;
    // The first round has no amplitude yet, and so no column of frequency.
    const width = round === 0 ? 3 : 4;
    for (let n = 0; n < codes.length; n++) {
      const code = codes[n]!;
      if (!isUsable(code, usable)) continue;
      const t = n + (n < lead ? 0 : missing * (Math.floor((n - lead) / every) + 1));
      const turns = cycles * t;
      const theta = 2 * Math.PI * (turns - Math.floor(turns));
      const c = Math.cos(theta);
      const s = Math.sin(theta);
      const y = code - whole.offset;
      x[0] = c;
      x[1] = s;
      x[2] = 1;
      x[3] = ((t - half) / half) * (q * c - a * s);
      for (let i = 0; i < width; i++) {
        for (let k = 0; k < width; k++) G[i * width + k]! += x[i]! * x[k]!;
        g[i]! += x[i]! * y;
      }
      yy += y * y;
      readings++;
    }
    const solved = symmetricSolve(G.subarray(0, width * width), g.subarray(0, width));
    if (solved === null) return fit;
    let rss = yy;
    for (let i = 0; i < width; i++) rss -= solved.x[i]! * g[i]!;
    a = solved.x[0]!;
    q = solved.x[1]!;
    // The fourth column is linear about the frequency of this round: its remainder is that of the next.
    fit = { rss: Math.max(rss, 1e-9 * readings), cycles, amplitude: Math.hypot(a, q), readings };
    if (width === 4) {
      const by = solved.x[3]! / (2 * Math.PI * half);
      // Phase is referred to time 0, the column to the middle: the sine is turned by as much.
      const back = 2 * Math.PI * by * half;
      [a, q] = [a * Math.cos(back) - q * Math.sin(back), q * Math.cos(back) + a * Math.sin(back)];
      cycles += by;
      fit = { ...fit, cycles };
    }
  }
  return fit;
}

/** The same without a loss, so that both are held against each other alike. */
export function oneSine(codes: Int32Array, whole: SineFit, usable: UsableCodes | null): StaircaseFit | null {
  const none = { every: codes.length + 1, first: 0, missing: 0, cycles: whole.cyclesPerReading };
  return staircaseFit(codes, none, whole, usable);
}
