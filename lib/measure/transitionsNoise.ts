import type { Lsb } from "../bench/units.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { median } from "../signal/median.ts";

/** Noise of one reading as a sweep shows it. */
export interface SweepNoise {
  /** One standard deviation; an estimate on the safe side where hardly any reading is out of order. */
  readonly sigma: Lsb;
  /** Standard uncertainty of sigma. */
  readonly standard: Lsb;
  /** Readings out of order, each counted by how many codes. */
  readonly inversions: number;
}

/** Pairs looked at per evaluation of the expected sum; more are sampled evenly. */
const PAIRS = 30_000;

/**
 * Noise from readings that come out of order: without noise, a rising input gives codes that never fall. The codes by which later readings of a
 * rising sweep fall below earlier ones are summed, Σ max(0, y_i − y_j) over pairs i < j, and σ is where the expected sum Σ σ√2·L((x_j − x_i)/(σ√2)) equals it.
 * @param groups  separate runs: one slope, one window
 * Source: METHODS 1.
 */
export function noiseByInversions(groups: readonly SortedRun[]): SweepNoise {
  const sound = groups.map(withoutOutliers);
  const all = estimate(sound);
  // Near the rails noise is cut off: once its size is known, readings within four of it are left out.
  const clear = all.sigma > 0.2 ? sound.map((g) => inside(g, 4 * all.sigma)) : sound;
  const inner = clear.some((g, i) => g.inputs.length < sound[i]!.inputs.length) ? estimate(clear) : all;
  return inner.inversions > 20 ? inner : all;
}

/** Readings of one slope or window in order of their inputs, and the range that the inputs were taken from. */
export interface SortedRun {
  readonly inputs: Float64Array;
  readonly codes: Int32Array;
  /** Inputs where the rails begin. */
  readonly rails: readonly [Lsb, Lsb];
}

/** Codes of unequal width (0.15 to 0.3 LSB rms) make the noise come out up to 1.5 % small. */
const UNEQUAL_CODES = 0.01;
/** Readings this many of their own scatter from the mean of their neighbours are no noise but errors: one with a wrong high bit counts like thousands of inversions. */
const SPARKLE = 10;

function withoutOutliers(run: SortedRun): SortedRun {
  const { inputs, codes } = run;
  if (codes.length < 16) return run;
  const apart = kernels.apartFromNeighbours(codes);
  const bound = SPARKLE * Math.max(median(apart), 1);
  if (apart.every((d) => d <= bound)) return run;
  const isNoise = (_: number, i: number): boolean => apart[i]! <= bound;
  return { ...run, inputs: inputs.filter(isNoise), codes: codes.filter(isNoise) };
}

function inside({ inputs, codes, rails }: SortedRun, margin: Lsb): SortedRun {
  let from = 0;
  let to = inputs.length;
  while (from < to && inputs[from]! < rails[0] + margin) from++;
  while (to > from && inputs[to - 1]! > rails[1] - margin) to--;
  return { inputs: inputs.subarray(from, to), codes: codes.subarray(from, to), rails };
}

function estimate(groups: readonly SortedRun[]): SweepNoise {
  let seen = 0;
  let total = 0;
  for (const { codes } of groups) {
    seen += kernels.inversionSum(codes);
    total += codes.length;
  }
  if (total < 4) return { sigma: 0, standard: 0, inversions: 0 };
  // One more than was seen: with none at all, σ is what would still have given one.
  const wanted = seen + 1;
  const sigma = whereItRises((sigma) => expectedSum(groups, total, sigma), wanted, evenGuess(groups, wanted));
  // The sum counts a few codes a pair and each reading in several pairs: its relative spread is about √(2·pairs a reading/sum).
  const perReading = Math.max(1, wanted / total);
  const relative = Math.hypot(Math.sqrt((2 * perReading) / wanted) / 1.5, UNEQUAL_CODES);
  return { sigma, standard: sigma * Math.min(1, relative), inversions: seen };
}

/** The σ that evenly spread readings, many to a σ, would have: the expected sum is then Σ n²σ²/(2·span) over the runs. */
function evenGuess(groups: readonly SortedRun[], wanted: number): Lsb {
  let dense = 0;
  for (const { inputs } of groups) {
    const span = inputs.length > 1 ? inputs[inputs.length - 1]! - inputs[0]! : 0;
    if (span > 0) dense += inputs.length ** 2 / span;
  }
  return Math.min(1e4, Math.max(1e-3, Math.sqrt((2 * wanted) / Math.max(dense, 1e-9))));
}

/**
 * The σ, to a thousandth, at which a sum that rises with it reaches the wanted one. Sums follow a power of σ over short ways, near 2 where readings are many, so that a
 * straight line through the logarithms of a bracket's ends mostly lands there (regula falsi; an end that stays twice counts half: Illinois).
 * @param guess  where to begin
 */
function whereItRises(sum: (sigma: Lsb) => number, wanted: number, guess: Lsb): Lsb {
  const miss = (logSigma: number): number => Math.log(Math.max(sum(Math.exp(logSigma)), 1e-12) / wanted);
  const [least, most] = [Math.log(1e-4), Math.log(1e5)];
  let low = Math.log(guess);
  let below = miss(low);
  let high = low;
  let above = below;
  // A bracket grows from the guess, half as far again as the power of 2 would go but by no more than a factor of 2 at first, and further each time.
  const first = Math.min(Math.LN2, 0.75 * Math.abs(below) + 0.01);
  for (let far = first; above < 0 && high < most; far *= 2) {
    low = high;
    below = above;
    high = Math.min(most, high + far);
    above = miss(high);
  }
  for (let far = first; below > 0 && low > least; far *= 2) {
    high = low;
    above = below;
    low = Math.max(least, low - far);
    below = low === least ? -Infinity : miss(low);
  }
  let stayed = 0;
  for (let i = 0; i < 24 && high - low > 2e-3; i++) {
    // With no finite sum at the lower end there is no line to draw yet.
    const share = Number.isFinite(below) ? below / (below - above) : 0.5;
    const at = low + (high - low) * Math.min(0.95, Math.max(0.05, share));
    const found = miss(at);
    if (Math.abs(found) < 1e-3) return Math.exp(at);
    if (found < 0) {
      low = at;
      below = found;
      if (stayed === -1) above /= 2;
      stayed = -1;
    } else {
      high = at;
      above = found;
      if (stayed === 1) below /= 2;
      stayed = 1;
    }
  }
  return Math.exp((low + high) / 2);
}

/** The mean overshoot of a standard normal, L(u), at steps of 1/TABLE, u = 0…5: the sum below asks for it hundreds of thousands of times. */
const TABLE = 256;
const OVERSHOOTS = Float64Array.from({ length: 5 * TABLE + 2 }, (_, i) => kernels.overshoot(i / TABLE));

function expectedSum(groups: readonly { readonly inputs: Float64Array }[], total: number, sigma: Lsb): number {
  const spread = sigma * Math.SQRT2;
  const reach = 4.5 * spread;
  // Where a reading has hundreds of partners, every s-th stands for s of them; where there are still too many pairs, every t-th reading for t.
  const partners = meanPartners(groups, total, reach);
  const s = Math.max(1, Math.floor(partners / 48));
  const t = Math.max(1, Math.floor((total * partners) / s / PAIRS));
  let sum = 0;
  let taken = 0;
  for (const { inputs } of groups) {
    taken += Math.ceil(inputs.length / t);
    sum += kernels.expectedInversions(inputs, OVERSHOOTS, spread, t, s);
  }
  return taken > 0 ? (sum * spread * s * total) / taken : 0;
}

/** Readings within reach above a reading, on average, from a hundred of them. */
function meanPartners(groups: readonly { readonly inputs: Float64Array }[], total: number, reach: Lsb): number {
  const stride = Math.max(1, Math.floor(total / 100));
  let pairs = 0;
  let taken = 0;
  for (const { inputs } of groups) {
    for (let i = 0; i < inputs.length; i += stride) {
      taken++;
      let low = i;
      let high = inputs.length;
      while (high - low > 1) {
        const middle = (low + high) >>> 1;
        if (inputs[middle]! - inputs[i]! < reach) low = middle;
        else high = middle;
      }
      pairs += low - i;
    }
  }
  return taken > 0 ? pairs / taken : 0;
}
