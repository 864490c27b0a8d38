/** A sine about the middle of a stretch: offset + a·cos θ + b·sin θ, θ = 2π·f·(n − centre). */
export class CentredSine {
  frequency: f64 = 0;
  centre: f64 = 0;
  offset: f64 = 0;
  a: f64 = 0;
  b: f64 = 0;
}

/** Sums over the readings so far, for columns [1, c, s, u·c, u·s] and the remainder r. */
export class SineSums {
  readings: i32 = 0;
  /** Half the stretch's length, the unit of u. */
  half: f64 = 0;
  g: Float64Array = new Float64Array(5);
  H: Float64Array = new Float64Array(25);
  rr: f64 = 0;
  /** Moments of a whole block, once one has been met. */
  block: Float64Array = new Float64Array(0);
}

// Between two exact rotations the recurrence runs this far: its rounding stays near 1e-13, and cos() costs nothing per reading.
const BLOCK = 1024;

/** Re, Im of Σ jᵏ e^{iωj}, k = 0, 1, then of Σ jᵏ e^{2iωj}, k = 0, 1, 2, over one block: the products of the columns then need no work per reading. */
function blockMoments(omega: f64, length: i32): Float64Array {
  let C: f64 = 0;
  let S: f64 = 0;
  let jC: f64 = 0;
  let jS: f64 = 0;
  let C2: f64 = 0;
  let S2: f64 = 0;
  let jC2: f64 = 0;
  let jS2: f64 = 0;
  let jjC2: f64 = 0;
  let jjS2: f64 = 0;
  for (let n = 0; n < length; n++) {
    const j: f64 = n;
    const c = Math.cos(omega * j);
    const s = Math.sin(omega * j);
    const c2 = c * c - s * s;
    const s2 = 2 * c * s;
    C += c;
    S += s;
    jC += j * c;
    jS += j * s;
    C2 += c2;
    S2 += s2;
    jC2 += j * c2;
    jS2 += j * s2;
    jjC2 += j * j * c2;
    jjS2 += j * j * s2;
  }
  const z = new Float64Array(10);
  z[0] = C;
  z[1] = S;
  z[2] = jC;
  z[3] = jS;
  z[4] = C2;
  z[5] = S2;
  z[6] = jC2;
  z[7] = jS2;
  z[8] = jjC2;
  z[9] = jjS2;
  return z;
}

/**
 * Adds readings to the sums of a stretch: about ten multiplications each, no trigonometric function.
 * @param sums    of the stretch's readings before these, with the same sine
 * @param first   index of the first of them
 * @param floor, ceiling  values strictly between them are used, others (and NaN) left out
 */
export function addSineSums(
  sums: SineSums,
  values: Float64Array,
  first: f64,
  model: CentredSine,
  floor: f64,
  ceiling: f64,
): SineSums {
  const omega = 2 * Math.PI * model.frequency;
  const half = sums.half;
  const du = 1 / half;
  const g = sums.g;
  const H = sums.H;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  if (values.length >= BLOCK && sums.block.length === 0) sums.block = blockMoments(omega, BLOCK);
  const offset = model.offset;
  const a = model.a;
  const b = model.b;
  for (let start = 0; start < values.length; start += BLOCK) {
    const length = min(BLOCK, values.length - start);
    const turns = model.frequency * (first + <f64>start - model.centre);
    const angle = 2 * Math.PI * (turns - Math.round(turns));
    const c0 = Math.cos(angle);
    const s0 = Math.sin(angle);
    const u0 = (first + <f64>start - model.centre) / half;
    let c = c0;
    let s = s0;
    let sr: f64 = 0;
    let src: f64 = 0;
    let srs: f64 = 0;
    let sjrc: f64 = 0;
    let sjrs: f64 = 0;
    let srr: f64 = 0;
    let left = 0;
    for (let i = 0; i < length; i++) {
      const j: f64 = i;
      const y = unchecked(values[start + i]);
      if (!(y > floor && y < ceiling)) {
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
    sums.readings += length - left;
    sums.rr += srr;
    g[0] += sr;
    g[1] += src;
    g[2] += srs;
    g[3] += u0 * src + du * sjrc;
    g[4] += u0 * srs + du * sjrs;
    addColumns(H, length, length === BLOCK ? sums.block : blockMoments(omega, length), c0, s0, u0, du);
  }
  for (let i = 0; i < 5; i++) for (let j = 0; j < i; j++) H[5 * i + j] = H[5 * j + i];
  return sums;
}

/** Adds a whole block's products of columns (upper triangle), its moments turned to the block's start phase. */
function addColumns(H: Float64Array, length: f64, z: Float64Array, c0: f64, s0: f64, u0: f64, du: f64): void {
  const n = length;
  const c2 = c0 * c0 - s0 * s0;
  const s2 = 2 * c0 * s0;
  const C = c0 * z[0] - s0 * z[1];
  const S = s0 * z[0] + c0 * z[1];
  const jC = c0 * z[2] - s0 * z[3];
  const jS = s0 * z[2] + c0 * z[3];
  // cos² = (1 + cos 2θ)/2, sin² = (1 − cos 2θ)/2, cos·sin = sin 2θ/2, each with weights 1, j, j².
  const sumJ = (n * (n - 1)) / 2;
  const sumJJ = (n * (n - 1) * (2 * n - 1)) / 6;
  const D0 = c2 * z[4] - s2 * z[5];
  const E0 = s2 * z[4] + c2 * z[5];
  const D1 = c2 * z[6] - s2 * z[7];
  const E1 = s2 * z[6] + c2 * z[7];
  const D2 = c2 * z[8] - s2 * z[9];
  const E2 = s2 * z[8] + c2 * z[9];
  const p1 = u0 * n + du * sumJ;
  const p2 = u0 * u0 * n + 2 * u0 * du * sumJ + du * du * sumJJ;
  const d1 = u0 * D0 + du * D1;
  const e1 = u0 * E0 + du * E1;
  const d2 = u0 * u0 * D0 + 2 * u0 * du * D1 + du * du * D2;
  const e2 = u0 * u0 * E0 + 2 * u0 * du * E1 + du * du * E2;
  H[0] += n;
  H[1] += C;
  H[2] += S;
  H[3] += u0 * C + du * jC;
  H[4] += u0 * S + du * jS;
  H[6] += (n + D0) / 2;
  H[7] += E0 / 2;
  H[8] += (p1 + d1) / 2;
  H[9] += e1 / 2;
  H[12] += (n - D0) / 2;
  H[13] += e1 / 2;
  H[14] += (p1 - d1) / 2;
  H[18] += (p2 + d2) / 2;
  H[19] += e2 / 2;
  H[24] += (p2 - d2) / 2;
}

/** Takes one left-out reading's products away again. */
function removeColumns(H: Float64Array, u: f64, c: f64, s: f64): void {
  H[0] -= 1;
  H[1] -= c;
  H[2] -= s;
  H[3] -= u * c;
  H[4] -= u * s;
  H[6] -= c * c;
  H[7] -= c * s;
  H[8] -= u * c * c;
  H[9] -= u * c * s;
  H[12] -= s * s;
  H[13] -= u * c * s;
  H[14] -= u * s * s;
  H[18] -= u * u * c * c;
  H[19] -= u * u * c * s;
  H[24] -= u * u * s * s;
}
