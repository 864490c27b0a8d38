import { fftInterleaved, nextPowerOfTwo } from "./powerOfTwoFft.ts";

/**
 * Start value of a sine fit: the frequency, of a fine grid over 0…½ cycle a reading, at which offset, cosine and sine explain most of the
 * readings.
 * This is the three-parameter least-squares fit itself at every grid point, not the peak of a spectrum, so that neither leakage from the
 * offset
 * nor a fraction of a cycle nor left-out readings can lead to a wrong peak.
 * @param values  readings in order
 * @param used    1 for a reading to use, 0 for one to leave out; null: all are used
 * @returns cycles per reading, and the grid's spacing there; null when all used values are equal or fewer than 4
 * Source: Zechmeister and Kürster, "The generalised Lomb-Scargle periodogram", Astron. Astrophys. 496, 2009 (the criterion; sums by FFT are
 *   ours).
 */
export function sineStart(
  values: Float64Array,
  used: Uint8Array | null,
): { readonly frequency: number; readonly spacing: number } | null {
  const length = values.length;
  let count = 0;
  let mean = 0;
  for (let n = 0; n < length; n++) {
    if (used && !used[n]) continue;
    count++;
    mean += (values[n]! - mean) / count;
  }
  if (count < 4) return null;
  const size = 4 * nextPowerOfTwo(length);
  // One complex transform carries the readings in its real part and the weights in its imaginary part.
  const packed = new Float64Array(2 * size);
  let total = 0;
  for (let n = 0; n < length; n++) {
    if (used && !used[n]) continue;
    const y = values[n]! - mean;
    total += y * y;
    packed[2 * n] = y;
    packed[2 * n + 1] = 1;
  }
  if (!(total > 0)) return null;
  const Z = fftInterleaved(packed);
  const centre = (length - 1) / 2;

  let best = -1;
  let frequency = 0;
  let spacing = 1 / size;
  const consider = (f: number, space: number, y: Complex, w: Complex, w2: Complex): void => {
    const explained = explainedPower(count, y, w, w2);
    if (explained > best) {
      best = explained;
      frequency = f;
      spacing = space;
    }
  };

  // Below about one cycle the criterion changes slowly with frequency but the sums are few: a direct scan on a finer grid.
  const slow = Math.min(32, Math.floor((16 * length) / 4));
  const blocks = inBlocks(packed, length);
  for (let k = 1; k <= slow; k++) {
    const f = k / (16 * length);
    const sums = directSums(blocks, f, centre);
    consider(f, 1 / (16 * length), sums.y, sums.w, sums.w2);
  }
  const half = size / 2;
  // Without gaps, from two cycles a record up to as far below ½, no combination of cosine and sine has less than 0.4 of the readings' weight:
  // offset and sine overlap by less than 0.13 of it (side lobes of a rectangle). A bin whose power could not reach the best is passed over.
  const least = used === null ? 0.4 * count : 0;
  const edge = Math.floor((0.5 - 2 / length) * size);
  for (let k = Math.ceil((2 / length) * size); k < half; k++) {
    if (k < edge && binPower(Z, size, k) < best * least) continue;
    const turns = (k / size) * centre;
    const y = turned(Z, size, k, false, turns);
    const w = turned(Z, size, k, true, turns);
    const w2 = turned(Z, size, 2 * k, true, 2 * turns);
    consider(k / size, 1 / size, y, w, w2);
  }
  return best > 0 ? { frequency, spacing } : null;
}

interface Complex {
  readonly re: number;
  readonly im: number;
}

/** Σ x·e^{−iω(n − centre)} of the readings (or of the weights) from the packed transform at bin k. */
function turned(Z: Float64Array, size: number, k: number, weights: boolean, turns: number): Complex {
  const p = k % size;
  const q = (size - p) % size;
  const a = Z[2 * p]!;
  const b = Z[2 * p + 1]!;
  const c = Z[2 * q]!;
  const d = Z[2 * q + 1]!;
  const re = weights ? (b + d) / 2 : (a + c) / 2;
  const im = weights ? (c - a) / 2 : (b - d) / 2;
  const angle = 2 * Math.PI * (turns - Math.round(turns));
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  return { re: re * cos - im * sin, im: im * cos + re * sin };
}

/** |Σ y·e^{−iωn}|² of the readings at bin k. */
function binPower(Z: Float64Array, size: number, k: number): number {
  const re = (Z[2 * k]! + Z[2 * (size - k)]!) / 2;
  const im = (Z[2 * k + 1]! - Z[2 * (size - k) + 1]!) / 2;
  return re * re + im * im;
}

/** Blocks of the direct scan, at most: two cycles turn by a tenth of a radian in one, which takes 4·10⁻⁴ of its sum. */
const MOST_BLOCKS = 128;

/** Sums of `every` readings on, and of their weights. */
interface Blocks {
  readonly every: number;
  readonly sums: Float64Array;
  readonly weights: Float64Array;
}

/** @param packed  readings in the real parts, weights in the imaginary ones */
function inBlocks(packed: Float64Array, length: number): Blocks {
  const every = Math.max(1, Math.ceil(length / MOST_BLOCKS));
  const count = Math.ceil(length / every);
  const sums = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let b = 0; b < count; b++) {
    const last = Math.min(length, (b + 1) * every);
    for (let n = b * every; n < last; n++) {
      sums[b]! += packed[2 * n]!;
      weights[b]! += packed[2 * n + 1]!;
    }
  }
  return { every, sums, weights };
}

function directSums(
  { every, sums, weights }: Blocks,
  f: number,
  centre: number,
): { y: Complex; w: Complex; w2: Complex } {
  let yRe = 0;
  let yIm = 0;
  let wRe = 0;
  let wIm = 0;
  let w2Re = 0;
  let w2Im = 0;
  // The pointer is turned on, not computed anew: its error grows by a rounding a block, far below what a start value needs.
  const stepCos = Math.cos(2 * Math.PI * f * every);
  const stepSin = Math.sin(2 * Math.PI * f * every);
  const first = 2 * Math.PI * f * (centre - (every - 1) / 2);
  let c = Math.cos(first);
  let s = -Math.sin(first);
  for (let b = 0; b < sums.length; b++) {
    const y = sums[b]!;
    const w = weights[b]!;
    yRe += y * c;
    yIm -= y * s;
    wRe += w * c;
    wIm -= w * s;
    w2Re += w * (c * c - s * s);
    w2Im -= 2 * w * c * s;
    const turned = c * stepCos - s * stepSin;
    s = s * stepCos + c * stepSin;
    c = turned;
  }
  return { y: { re: yRe, im: yIm }, w: { re: wRe, im: wIm }, w2: { re: w2Re, im: w2Im } };
}

/** Reduction of the sum of squares by offset, cosine and sine; readings come with their mean taken off. */
function explainedPower(count: number, y: Complex, w: Complex, w2: Complex): number {
  const C = w.re;
  const S = -w.im;
  const cc = (count + w2.re) / 2 - (C * C) / count;
  const ss = (count - w2.re) / 2 - (S * S) / count;
  const cs = -w2.im / 2 - (C * S) / count;
  const yc = y.re;
  const ys = -y.im;
  const determinant = cc * ss - cs * cs;
  // Near 0 and ½ cycle a reading one of the two columns vanishes: what is left of the other still counts.
  const largest = Math.max(cc, ss);
  if (!(largest > 1e-9 * count)) return 0;
  if (determinant < 1e-9 * largest * largest) return cc > ss ? (yc * yc) / cc : (ys * ys) / ss;
  return (ss * yc * yc + cc * ys * ys - 2 * cs * yc * ys) / determinant;
}
