import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";
/** A staircase of phase that is tried: `missing` readings lost after `first` readings, and after every `every` again. */
export interface Staircase {
  readonly every: number;
  readonly missing: number;
  readonly first: number;
  /** Sum of squares that a sine explains with it. */
  readonly power: number;
  /** Of the tone, per reading. */
  readonly cycles: number;
}

/** Sums over the first n readings, element n, of y = code − middle: n, Σy·e^iθ, Σe^iθ, Σe^2iθ, θ the stated tone's phase. */
export interface StaircaseSums {
  readonly total: number;
  readonly y: number;
  readonly used: Float64Array;
  /** Real and imaginary parts in turn: y·e^iθ, e^iθ, e^2iθ. */
  readonly waves: readonly Float64Array[];
}

/** @param usable  codes to use */
export function staircaseSums(
  codes: Int32Array,
  middle: number,
  cycles: number,
  usable: UsableCodes | null,
): StaircaseSums {
  const waves = Array.from({ length: 6 }, () => new Float64Array(codes.length + 1));
  const used = new Float64Array(codes.length + 1);
  let total = 0;
  const terms = new Float64Array(6);
  for (let n = 0; n < codes.length; n++) {
    const code = codes[n]!;
    const left = !isUsable(code, usable);
    const y = left ? 0 : code - middle;
    total += y;
    const turns = cycles * n;
    const theta = 2 * Math.PI * (turns - Math.floor(turns));
    const c = left ? 0 : Math.cos(theta);
    const s = left ? 0 : Math.sin(theta);
    terms[0] = y * c;
    terms[1] = y * s;
    terms[2] = c;
    terms[3] = s;
    terms[4] = c * c - s * s;
    terms[5] = 2 * c * s;
    for (let i = 0; i < 6; i++) waves[i]![n + 1] = waves[i]![n]! + terms[i]!;
    used[n + 1] = used[n]! + (left ? 0 : 1);
  }
  return { total: codes.length, y: total, used, waves };
}

/** The staircase that a sine explains most with, over places of the first loss from … below to. */
export function bestStaircase(
  sums: StaircaseSums,
  every: number,
  missing: number,
  cycles: number,
  detuning: readonly number[],
  from: number,
  to: number,
  step: number,
): Staircase {
  let best: Staircase = { every, missing, first: 0, power: -1, cycles };
  for (let place = from; place < to + (from < 0 || step === 1 ? 1 : 0); place += step) {
    const first = ((place % every) + every) % every;
    for (const off of detuning) {
      // The detuning's own advance is taken at the turns only: within one it is small.
      const turn = 2 * Math.PI * (missing * (cycles + off) + off * every);
      const power = explained(sums, every, first, turn);
      if (power > best.power) best = { every, missing, first, power, cycles: cycles + off };
    }
  }
  return best;
}

/** Sum of squares that level, cos and sin explain when the phase goes ahead by `turn` at each loss. */
function explained({ total, y, used, waves }: StaircaseSums, every: number, first: number, turn: number): number {
  const [yc, ys, c1, s1, c2, s2] = waves as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  let [ac, as, bc, bs, dc, ds] = [0, 0, 0, 0, 0, 0];
  const stepC = Math.cos(turn);
  const stepS = Math.sin(turn);
  let c = 1;
  let s = 0;
  let start = 0;
  for (let end = first === 0 ? every : first; start < total; end += every) {
    const stop = Math.min(end, total);
    let re = yc[stop]! - yc[start]!;
    let im = ys[stop]! - ys[start]!;
    ac += re * c - im * s;
    as += im * c + re * s;
    re = c1[stop]! - c1[start]!;
    im = s1[stop]! - s1[start]!;
    bc += re * c - im * s;
    bs += im * c + re * s;
    re = c2[stop]! - c2[start]!;
    im = s2[stop]! - s2[start]!;
    const cc = c * c - s * s;
    const ss = 2 * c * s;
    dc += re * cc - im * ss;
    ds += im * cc + re * ss;
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
    start = stop;
  }
  const n = used[total]!;
  const cc = (n + dc) / 2 - (bc * bc) / n;
  const ss = (n - dc) / 2 - (bs * bs) / n;
  const cs = ds / 2 - (bc * bs) / n;
  const yC = ac - (y * bc) / n;
  const yS = as - (y * bs) / n;
  const det = cc * ss - cs * cs;
  return det > 1e-6 * n * n ? (yC * yC * ss - 2 * yC * yS * cs + yS * yS * cc) / det : 0;
}
