/**
 * A sine about the middle of a stretch of readings: offset + a·cos θ + b·sin θ, θ = 2π·f·(n − centre).
 * The middle is where frequency and phase are least correlated, which keeps the fit well conditioned.
 */
export interface CentredSine {
  readonly frequency: number;
  readonly centre: number;
  readonly offset: number;
  readonly a: number;
  readonly b: number;
}

/**
 * Sums over a stretch, for columns [1, c, s, u·c, u·s], c = cos θ, s = sin θ, u = (n − centre)/half in −1…1, and the remainder r = y −
 * model.
 */
export interface SineSums {
  readonly readings: number;
  /** Half the stretch's length, the unit of u. */
  readonly half: number;
  /** Σ column·r. */
  readonly g: Float64Array;
  /** Σ column·column, 5×5. */
  readonly H: Float64Array;
  /** Σ r². */
  readonly rr: number;
}

export type Exclude = (code: number) => boolean;

// Between two exact rotations the recurrence runs this far: its rounding stays near 1e-13, and cos() costs nothing per reading.
const BLOCK = 1024;

/** Σ jᵏ·e^{iω(j)} and Σ jᵏ·e^{2iωj} for one block, so that the products of the columns need no work per reading. */
interface BlockMoments {
  readonly length: number;
  /** Re, Im of Σ jᵏ e^{iωj}, k = 0, 1, then of Σ jᵏ e^{2iωj}, k = 0, 1, 2. */
  readonly z: Float64Array;
}

function blockMoments(omega: number, length: number): BlockMoments {
  const z = new Float64Array(10);
  for (let j = 0; j < length; j++) {
    const c = Math.cos(omega * j);
    const s = Math.sin(omega * j);
    const c2 = c * c - s * s;
    const s2 = 2 * c * s;
    z[0]! += c;
    z[1]! += s;
    z[2]! += j * c;
    z[3]! += j * s;
    z[4]! += c2;
    z[5]! += s2;
    z[6]! += j * c2;
    z[7]! += j * s2;
    z[8]! += j * j * c2;
    z[9]! += j * j * s2;
  }
  return { length, z };
}

/**
 * One pass over readings first…last.
 * @param exclude  codes to leave out (rails)
 * Cost: about ten multiplications a reading, no trigonometric function, no memory.
 */
export function sineSums(
  codes: ArrayLike<number>,
  first: number,
  last: number,
  model: CentredSine,
  exclude?: Exclude,
): SineSums {
  const { frequency, centre, offset, a, b } = model;
  const omega = 2 * Math.PI * frequency;
  const half = Math.max((last - first) / 2, 0.5);
  const du = 1 / half;
  const g = new Float64Array(5);
  const H = new Float64Array(25);
  let rr = 0;
  let readings = 0;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const full = last - first + 1 >= BLOCK ? blockMoments(omega, BLOCK) : null;
  for (let start = first; start <= last; start += BLOCK) {
    const length = Math.min(BLOCK, last - start + 1);
    const turns = frequency * (start - centre);
    const angle = 2 * Math.PI * (turns - Math.round(turns));
    const c0 = Math.cos(angle);
    const s0 = Math.sin(angle);
    const u0 = (start - centre) / half;
    let c = c0;
    let s = s0;
    let sr = 0;
    let src = 0;
    let srs = 0;
    let sjrc = 0;
    let sjrs = 0;
    let srr = 0;
    let left = 0;
    for (let j = 0; j < length; j++) {
      const y = codes[start + j]!;
      if (exclude?.(y)) {
        left++;
        removeColumns(H, u0 + du * j, c, s);
      } else {
        const r = y - offset - a * c - b * s;
        const rc = r * c;
        const rs = r * s;
        sr += r;
        src += rc;
        srs += rs;
        sjrc += j * rc;
        sjrs += j * rs;
        srr += r * r;
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
    }
    readings += length - left;
    rr += srr;
    g[0]! += sr;
    g[1]! += src;
    g[2]! += srs;
    g[3]! += u0 * src + du * sjrc;
    g[4]! += u0 * srs + du * sjrs;
    addColumns(H, full?.length === length ? full : blockMoments(omega, length), c0, s0, u0, du);
  }
  for (let i = 0; i < 5; i++) for (let j = 0; j < i; j++) H[5 * i + j] = H[5 * j + i]!;
  return { readings, half, g, H, rr };
}

/** Adds a whole block's products of columns (upper triangle), its moments turned to the block's start phase. */
function addColumns(H: Float64Array, block: BlockMoments, c0: number, s0: number, u0: number, du: number): void {
  const { length: n, z } = block;
  const c2 = c0 * c0 - s0 * s0;
  const s2 = 2 * c0 * s0;
  const C = c0 * z[0]! - s0 * z[1]!;
  const S = s0 * z[0]! + c0 * z[1]!;
  const jC = c0 * z[2]! - s0 * z[3]!;
  const jS = s0 * z[2]! + c0 * z[3]!;
  // cos² = (1 + cos 2θ)/2, sin² = (1 − cos 2θ)/2, cos·sin = sin 2θ/2, each with weights 1, j, j².
  const sumJ = (n * (n - 1)) / 2;
  const sumJJ = (n * (n - 1) * (2 * n - 1)) / 6;
  const D0 = c2 * z[4]! - s2 * z[5]!;
  const E0 = s2 * z[4]! + c2 * z[5]!;
  const D1 = c2 * z[6]! - s2 * z[7]!;
  const E1 = s2 * z[6]! + c2 * z[7]!;
  const D2 = c2 * z[8]! - s2 * z[9]!;
  const E2 = s2 * z[8]! + c2 * z[9]!;
  const p1 = u0 * n + du * sumJ;
  const p2 = u0 * u0 * n + 2 * u0 * du * sumJ + du * du * sumJJ;
  const d1 = u0 * D0 + du * D1;
  const e1 = u0 * E0 + du * E1;
  const d2 = u0 * u0 * D0 + 2 * u0 * du * D1 + du * du * D2;
  const e2 = u0 * u0 * E0 + 2 * u0 * du * E1 + du * du * E2;
  H[0]! += n;
  H[1]! += C;
  H[2]! += S;
  H[3]! += u0 * C + du * jC;
  H[4]! += u0 * S + du * jS;
  H[6]! += (n + D0) / 2;
  H[7]! += E0 / 2;
  H[8]! += (p1 + d1) / 2;
  H[9]! += e1 / 2;
  H[12]! += (n - D0) / 2;
  H[13]! += e1 / 2;
  H[14]! += (p1 - d1) / 2;
  H[18]! += (p2 + d2) / 2;
  H[19]! += e2 / 2;
  H[24]! += (p2 - d2) / 2;
}

/** Takes one left-out reading's products away again. */
function removeColumns(H: Float64Array, u: number, c: number, s: number): void {
  H[0]! -= 1;
  H[1]! -= c;
  H[2]! -= s;
  H[3]! -= u * c;
  H[4]! -= u * s;
  H[6]! -= c * c;
  H[7]! -= c * s;
  H[8]! -= u * c * c;
  H[9]! -= u * c * s;
  H[12]! -= s * s;
  H[13]! -= u * c * s;
  H[14]! -= u * s * s;
  H[18]! -= u * u * c * c;
  H[19]! -= u * u * c * s;
  H[24]! -= u * u * s * s;
}
