// A tone followed along a record in which some readings were logged twice: reading n shows the signal at place n less the doubled readings up to it (the second of each pair, in
// order).

import { Pointer } from "./pointer";
import { symmetricSolve } from "./symmetricSolve";
import { isUsable, UsableCodes } from "./usableCodes";

/** offset + a·cos ωj + b·sin ωj over places j of the signal. */
export class Tone {
  omega: f64 = 0;
  offset: f64 = 0;
  a: f64 = 0;
  b: f64 = 0;
}

export class Followed {
  doubled: Int32Array = new Int32Array(0);
  rss: f64 = Infinity;
}

/**
 * Walks along the record and fits the tone anew by turns, until nothing improves.
 * @param most   doubled readings at most
 * @param price  of one, squared codes
 * @param off    readings by which the first walk may begin behind
 */
export function followDoubled(
  codes: Int32Array,
  start: Tone,
  most: i32,
  price: f64,
  off: i32,
  rounds: i32,
  usable: UsableCodes,
): Followed {
  let tone = start;
  const best = new Followed();
  const came = new Uint8Array(codes.length * (most + off + 1));
  for (let round = 0; round < rounds; round++) {
    const doubled = cheapestDoubled(codes, tone, most, price, round === 0 ? off : 1, usable, came);
    const fitted = fitAlong(codes, doubled, tone, 0, codes.length, true, usable);
    if (fitted === null) break;
    tone = fitted;
    const rss = leftAlong(codes, doubled, tone, 0, codes.length, usable);
    if (rss < best.rss) {
      best.doubled = doubled;
      best.rss = rss;
    } else if (round > 1) break;
  }
  return best;
}

export class FittedPiece {
  tone: Tone = new Tone();
  rss: f64 = Infinity;
}

/** The tone of known frequency that fits readings first…end − 1, none of them doubled; infinite rss where there is none. */
export function fitPiece(codes: Int32Array, omega: f64, first: i32, end: i32, usable: UsableCodes): FittedPiece {
  const none = new Int32Array(0);
  const piece = new FittedPiece();
  piece.tone.omega = omega;
  const tone = fitAlong(codes, none, piece.tone, first, end, false, usable);
  if (tone === null) return piece;
  piece.tone = tone;
  piece.rss = leftAlong(codes, none, tone, first, end, usable);
  return piece;
}

/** Cosine and sine of known frequency through readings from the first on, their level known; null where they cannot be told apart. */
export function fitAboutLevel(codes: Int32Array, omega: f64, level: f64): Tone | null {
  const pointer = new Pointer(omega, 0);
  const H = new Float64Array(4);
  const g = new Float64Array(2);
  for (let n = 0; n < codes.length; n++) {
    const y = codes[n] - level;
    const c = pointer.c;
    const s = pointer.s;
    H[0] += c * c;
    H[1] += c * s;
    H[2] += c * s;
    H[3] += s * s;
    g[0] += y * c;
    g[1] += y * s;
    pointer.turn();
  }
  const solved = symmetricSolve(H, g);
  return solved === null ? null : { omega, offset: level, a: solved.x[0], b: solved.x[1] };
}

/**
 * Least squares of level, cosine and sine over readings first…end − 1, and of the frequency if it is free.
 * @param doubled  none before `first`
 * @returns null where they cannot be told apart
 */
function fitAlong(
  codes: Int32Array,
  doubled: Int32Array,
  tone: Tone,
  first: i32,
  end: i32,
  isFree: bool,
  usable: UsableCodes,
): Tone | null {
  const pointer = new Pointer(tone.omega, first);
  const count: f64 = end - first;
  // The phase at the middle is kept: there the columns of phase and frequency have least in common.
  const middle: f64 = <f64>(first + end - 1 - doubled.length) / 2;
  let before = 0;
  let n1: f64 = 0;
  let nc: f64 = 0;
  let ns: f64 = 0;
  let nd: f64 = 0;
  let cc: f64 = 0;
  let cs: f64 = 0;
  let cd: f64 = 0;
  let ss: f64 = 0;
  let sd: f64 = 0;
  let dd: f64 = 0;
  let ny: f64 = 0;
  let cy: f64 = 0;
  let sy: f64 = 0;
  let dy: f64 = 0;
  for (let n = first; n < end; n++) {
    if (before < doubled.length && doubled[before] === n) before++;
    else if (n > first) pointer.turn();
    const y: f64 = codes[n];
    if (!isUsable(y, usable)) continue;
    const c = pointer.c;
    const s = pointer.s;
    const d = ((n - before - middle) / count) * (tone.b * c - tone.a * s);
    n1++;
    nc += c;
    ns += s;
    nd += d;
    cc += c * c;
    cs += c * s;
    cd += c * d;
    ss += s * s;
    sd += s * d;
    dd += d * d;
    ny += y;
    cy += c * y;
    sy += s * y;
    dy += d * y;
  }
  const all: StaticArray<f64> = [n1, nc, ns, nd, nc, cc, cs, cd, ns, cs, ss, sd, nd, cd, sd, dd];
  const right: StaticArray<f64> = [ny, cy, sy, dy];
  const size = isFree ? 4 : 3;
  const H = new Float64Array(size * size);
  const g = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    g[i] = right[i];
    for (let k = 0; k < size; k++) H[i * size + k] = all[4 * i + k];
  }
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  const x = solved.x;
  const change = isFree ? x[3] / count : 0;
  const turn = -change * middle;
  const c = Math.cos(turn);
  const s = Math.sin(turn);
  return { omega: tone.omega + change, offset: x[0], a: x[1] * c + x[2] * s, b: x[2] * c - x[1] * s };
}

/** Sum of squares that the tone leaves of readings first…end − 1. */
function leftAlong(codes: Int32Array, doubled: Int32Array, tone: Tone, first: i32, end: i32, usable: UsableCodes): f64 {
  const pointer = new Pointer(tone.omega, first);
  let sum: f64 = 0;
  let before = 0;
  for (let n = first; n < end; n++) {
    if (before < doubled.length && doubled[before] === n) before++;
    else if (n > first) pointer.turn();
    const y: f64 = codes[n];
    if (!isUsable(y, usable)) continue;
    const away = y - tone.offset - tone.a * pointer.c - tone.b * pointer.s;
    sum += away * away;
  }
  return sum;
}

/**
 * The doubled readings that cost least along the record, by dynamic programming (Viterbi): a reading that equals the one before may be the same again, for a price.
 * @param most  doubled readings at most
 * @param off   readings by which the walk may begin behind
 * @param came  room for the way back: a byte for each reading and each number of doubled ones
 */
function cheapestDoubled(
  codes: Int32Array,
  tone: Tone,
  most: i32,
  price: f64,
  off: i32,
  usable: UsableCodes,
  came: Uint8Array,
): Int32Array {
  const states = most + off + 1;
  if (most < 0 || off < 0) unreachable();
  const ahead = off >> 1;
  // The signal at place i − states + ahead.
  const wave = new Float64Array(codes.length + states);
  const pointer = new Pointer(tone.omega, ahead - states);
  for (let i = 0; i < wave.length; i++) {
    wave[i] = tone.offset + tone.a * pointer.c + tone.b * pointer.s;
    pointer.turn();
  }
  const cost = new Float64Array(states).fill(Infinity).fill(0, 0, off + 1);
  came.fill(0);
  // The furthest behind that it can be by now.
  let last = off;
  for (let n = 0; n < codes.length; n++) {
    if (n > 0 && codes[n] === codes[n - 1]) {
      last = min(last + 1, states - 1);
      for (let m = last; m > 0; m--) {
        const again = unchecked(cost[m - 1]) + price;
        if (again >= unchecked(cost[m])) continue;
        unchecked((cost[m] = again));
        came[n * states + m] = 1;
      }
    }
    const y: f64 = codes[n];
    if (!isUsable(y, usable)) continue;
    // last < states: all of them lie in the wave, which is as much longer than the codes.
    for (let m = 0; m <= last; m++) {
      const away = y - unchecked(wave[n - m + states]);
      unchecked((cost[m] += away * away));
    }
  }
  let m = 0;
  for (let i = 1; i < states; i++) if (cost[i] < cost[m]) m = i;
  const back = new Int32Array(states);
  let count = 0;
  for (let n = codes.length - 1; n > 0; n--)
    if (came[n * states + m] === 1) {
      back[count++] = n;
      m--;
    }
  return back.slice(0, count).reverse();
}
