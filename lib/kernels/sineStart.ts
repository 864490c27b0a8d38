/** Readings about their mean, 0 where one is left out. */
export class Centred {
  values: Float64Array = new Float64Array(0);
  /** Readings that are used. */
  count: i32 = 0;
  /** Sum of squares. */
  total: f64 = 0;
}

/** @param used  1 for a reading to use, 0 for one to leave out; null: all are used */
export function aboutMean(values: Float64Array, used: Uint8Array | null): Centred {
  const centred = new Centred();
  let mean: f64 = 0;
  for (let n = 0; n < values.length; n++) {
    if (used !== null && used[n] === 0) continue;
    centred.count++;
    mean += (values[n] - mean) / centred.count;
  }
  const about = new Float64Array(values.length);
  for (let n = 0; n < values.length; n++) {
    if (used !== null && used[n] === 0) continue;
    const y = values[n] - mean;
    centred.total += y * y;
    about[n] = y;
  }
  centred.values = about;
  return centred;
}

/**
 * A real sequence of at most N values, filled up with zeros to 4·N, is transformed by four complex transforms of N/2: values 2m and 2m + 1 as one complex value z(m),
 * N/2 of them that are not zero, and every fourth bin of their transform of 2·N values from r on is the transform of z(m)·e^{−2πi·m·r/2N}.
 * @param size  N, a power of two ≥ 2
 * @returns the four sequences one after the other, interleaved: N values each
 */
export function quarterTurns(values: Float64Array, size: i32): Float64Array {
  const out = new Float64Array(4 * size);
  const half = size / 2;
  for (let m = 0; m < half; m++) {
    const re = 2 * m < values.length ? values[2 * m] : 0;
    const im = 2 * m + 1 < values.length ? values[2 * m + 1] : 0;
    for (let r = 0; r < 4; r++) {
      const angle = (Math.PI * <f64>(m * r)) / size;
      const c = r === 0 ? 1 : Math.cos(angle);
      const s = r === 0 ? 0 : Math.sin(angle);
      out[r * size + 2 * m] = re * c + im * s;
      out[r * size + 2 * m + 1] = im * c - re * s;
    }
  }
  return out;
}

export class SineStart {
  /** What the sine takes off the sum of squares; −1 where no frequency was looked at. */
  explained: f64 = -1;
  /** Cycles per reading, and the grid's spacing there. */
  frequency: f64 = 0;
  spacing: f64 = 0;
}

/**
 * Scans the grid of frequencies for the one at which offset, cosine and sine explain most.
 * @param values    readings about their mean, `count` of them used
 * @param used      as in aboutMean
 * @param readings  transform of the readings, four sequences as quarterTurns orders them
 * @param weights   the same of `used`; null: all are used
 * @param size      bins of the whole transform, 0…1 cycle a reading
 */
export function bestSine(
  values: Float64Array,
  used: Uint8Array | null,
  count: i32,
  readings: Float64Array,
  weights: Float64Array | null,
  size: i32,
): SineStart {
  const length = values.length;
  const centre = <f64>(length - 1) / 2;
  const found = new SineStart();
  slowSines(found, values, used, count, centre);
  const half = size / 2;
  // Without gaps, from two cycles a record up to as far below ½, no combination of cosine and sine has less than 0.4 of the readings' weight:
  // offset and sine overlap by less than 0.13 of it (side lobes of a rectangle). A bin whose power could not reach the best is passed over.
  const least: f64 = weights === null ? 0.4 * count : 0;
  const edge = <i32>floor<f64>((0.5 - 2 / <f64>length) * size);
  for (let k = <i32>ceil<f64>((2 / <f64>length) * size); k < half; k++) {
    readBin(readings, size, k);
    const re = binRe;
    const im = binIm;
    if (k < edge && re * re + im * im < found.explained * least) continue;
    const f = <f64>k / size;
    turnBin(f * centre);
    const yRe = binRe;
    const yIm = binIm;
    let wRe = evenSum(f, length);
    let wIm: f64 = 0;
    let w2Re = evenSum(2 * f, length);
    let w2Im: f64 = 0;
    if (weights !== null) {
      readBin(weights, size, k);
      turnBin(f * centre);
      wRe = binRe;
      wIm = binIm;
      readBin(weights, size, 2 * k);
      turnBin(2 * f * centre);
      w2Re = binRe;
      w2Im = binIm;
    }
    consider(found, f, 1 / <f64>size, explainedPower(count, yRe, yIm, wRe, wIm, w2Re, w2Im));
  }
  return found;
}

function consider(found: SineStart, frequency: f64, spacing: f64, explained: f64): void {
  if (!(explained > found.explained)) return;
  found.explained = explained;
  found.frequency = frequency;
  found.spacing = spacing;
}

let binRe: f64 = 0;
let binIm: f64 = 0;

/** Σ x·e^{−iωn} at bin k of `size`, from the transform of pairs of values: the spectra of even and odd values by symmetry, the odd ones' turned by a reading. */
function readBin(Z: Float64Array, size: i32, k: i32): void {
  // Bins beyond half mirror those below.
  const mirrored = 2 * k > size;
  const at = mirrored ? size - k : k;
  const pairs = size / 2;
  const p = placeOf(at % pairs, size);
  const q = placeOf((pairs - at) % pairs, size);
  const a = Z[p];
  const b = Z[p + 1];
  const c = Z[q];
  const d = Z[q + 1];
  const angle = (2 * Math.PI * <f64>at) / size;
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  const oddRe = (b + d) / 2;
  const oddIm = (c - a) / 2;
  binRe = (a + c) / 2 + oddRe * cos + oddIm * sin;
  binIm = (b - d) / 2 + oddIm * cos - oddRe * sin;
  if (mirrored) binIm = -binIm;
}

/** Where quarterTurns' order keeps bin k of the pairs' transform. */
function placeOf(k: i32, size: i32): i32 {
  return (k & 3) * (size / 4) + 2 * (k >> 2);
}

/** Turns the bin just read to an angle counted from the readings' middle. */
function turnBin(turns: f64): void {
  const angle = 2 * Math.PI * (turns - Math.round(turns));
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  const re = binRe * cos - binIm * sin;
  binIm = binIm * cos + binRe * sin;
  binRe = re;
}

/** Σ e^{−iωn} about the middle of evenly spaced readings without gaps (Dirichlet kernel). */
function evenSum(f: f64, length: i32): f64 {
  return Math.sin(Math.PI * f * length) / Math.sin(Math.PI * f);
}

/** Blocks of the direct scan, at most: two cycles turn by a tenth of a radian in one, which takes 4·10⁻⁴ of its sum. */
const MOST_BLOCKS = 128;

/** Below about one cycle the criterion changes slowly with frequency but the sums are few: a direct scan on a finer grid. */
function slowSines(found: SineStart, values: Float64Array, used: Uint8Array | null, count: i32, centre: f64): void {
  const length = values.length;
  const every = max(1, <i32>ceil<f64>(<f64>length / MOST_BLOCKS));
  const blocks = <i32>ceil<f64>(<f64>length / every);
  const sums = new Float64Array(blocks);
  const weights = new Float64Array(blocks);
  for (let b = 0; b < blocks; b++) {
    const last = min(length, (b + 1) * every);
    for (let n = b * every; n < last; n++) {
      sums[b] += values[n];
      weights[b] += used === null ? 1 : used[n];
    }
  }
  const slow = min(32, 4 * length);
  for (let k = 1; k <= slow; k++) {
    const f = <f64>k / (16 * length);
    let yRe: f64 = 0;
    let yIm: f64 = 0;
    let wRe: f64 = 0;
    let wIm: f64 = 0;
    let w2Re: f64 = 0;
    let w2Im: f64 = 0;
    // The pointer is turned on, not computed anew: its error grows by a rounding a block, far below what a start value needs.
    const stepCos = Math.cos(2 * Math.PI * f * every);
    const stepSin = Math.sin(2 * Math.PI * f * every);
    const first = 2 * Math.PI * f * (centre - <f64>(every - 1) / 2);
    let c = Math.cos(first);
    let s = -Math.sin(first);
    for (let b = 0; b < blocks; b++) {
      const y = sums[b];
      const w = weights[b];
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
    consider(found, f, 1 / <f64>(16 * length), explainedPower(count, yRe, yIm, wRe, wIm, w2Re, w2Im));
  }
}

/** Reduction of the sum of squares by offset, cosine and sine; readings come with their mean taken off. */
function explainedPower(n: i32, yRe: f64, yIm: f64, wRe: f64, wIm: f64, w2Re: f64, w2Im: f64): f64 {
  const count: f64 = n;
  const C = wRe;
  const S = -wIm;
  const cc = (count + w2Re) / 2 - (C * C) / count;
  const ss = (count - w2Re) / 2 - (S * S) / count;
  const cs = -w2Im / 2 - (C * S) / count;
  const yc = yRe;
  const ys = -yIm;
  const determinant = cc * ss - cs * cs;
  // Near 0 and ½ cycle a reading one of the two columns vanishes: what is left of the other still counts.
  const largest = max(cc, ss);
  if (!(largest > 1e-9 * count)) return 0;
  if (determinant < 1e-9 * largest * largest) return cc > ss ? (yc * yc) / cc : (ys * ys) / ss;
  return (ss * yc * yc + cc * ys * ys - 2 * cs * yc * ys) / determinant;
}
