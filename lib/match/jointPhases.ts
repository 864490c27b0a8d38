import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";

/** Harmonics that go with the tone: over a few cycles distortion looks like a change of phase. */
const HARMONICS = [2, 3, 4, 5];
const ROUNDS = 6;
/** Powers of time by which level and amplitude may move, in records long enough to tell: a drift of few cycles looks like a change of phase too. */
const MOVES = { level: 4, amplitude: 2 };
const LONG_ENOUGH = 200;

/** One sine with harmonics through a record, its phase free in each of some pieces. */
export interface JointPhases {
  readonly cycles: number;
  readonly offset: number;
  readonly amplitude: number;
  /** First reading of each piece, and the tone's phase at reading 0 that it leads back to. */
  readonly starts: readonly number[];
  readonly phases: readonly number[];
  /** Of each harmonic its order, and the parts in phase and in quadrature with the tone turned by it; codes. */
  readonly harmonics: readonly { readonly order: number; readonly c: number; readonly s: number }[];
  /** How level and amplitude move, codes: coefficients of u, u², … with u from −1 to 1 over the record. */
  readonly levelMoves: readonly number[];
  readonly amplitudeMoves: readonly number[];
  /** Jump from each piece to the next is phases[k + 1] − phases[k]; its variance in units of the noise's. */
  readonly jumpVariance: readonly number[];
  readonly rss: number;
  readonly free: number;
}

/** What is known of the frequency beforehand: cycles per reading ± a standard uncertainty, and the noise of a reading that it is weighed against. */
export interface KnownFrequency {
  readonly cycles: number;
  readonly standard: number;
  readonly noise: number;
}

/**
 * Least squares, Gauss-Newton: level, amplitude and how they move, frequency, harmonics 2 to 5 locked to the tone's phase, and a phase for each piece.
 * @returns null where the columns cannot be told apart
 */
export function jointPhases(
  codes: Int32Array,
  start: Pick<JointPhases, "cycles" | "amplitude" | "starts" | "phases">,
  known: KnownFrequency | null,
  usable: UsableCodes | null,
): JointPhases | null {
  const { starts } = start;
  const pieces = starts.length;
  const half = codes.length / 2;
  let { cycles, amplitude } = start;
  const phases = [...start.phases];
  const harmonics = HARMONICS.filter((h) => isApart(h, cycles, codes.length));
  const moves = codes.length < LONG_ENOUGH ? { level: 0, amplitude: 0 } : MOVES;
  const level = 3 + 2 * harmonics.length;
  const base = level + moves.level + moves.amplitude;
  const width = base + pieces;
  let found: JointPhases | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const G = new Float64Array(width * width);
    const g = new Float64Array(width);
    const x = new Float64Array(base);
    let yy = 0;
    let used = 0;
    const middle = codes[codes.length >> 1]!;
    for (let k = 0; k < pieces; k++) {
      const column = base + k;
      const last = k + 1 < pieces ? starts[k + 1]! : codes.length;
      const stepC = Math.cos(2 * Math.PI * cycles);
      const stepS = Math.sin(2 * Math.PI * cycles);
      const turns = cycles * starts[k]!;
      const theta = 2 * Math.PI * (turns - Math.floor(turns)) + phases[k]!;
      let c = Math.cos(theta);
      let s = Math.sin(theta);
      for (let n = starts[k]!; n < last; n++) {
        const code = codes[n]!;
        if (isUsable(code, usable)) {
          const y = code - middle;
          const d = -amplitude * s;
          x[0] = 1;
          x[1] = c;
          const u = (n - half) / half;
          x[2] = u * d;
          for (let i = 0, power = u; i < moves.level; i++, power *= u) {
            x[level + i] = power;
            if (i < moves.amplitude) x[level + moves.level + i] = power * c;
          }
          let hc = c;
          let hs = s;
          let order = 1;
          for (let i = 0; i < harmonics.length; i++) {
            for (; order < harmonics[i]!; order++) {
              const next = hc * c - hs * s;
              hs = hs * c + hc * s;
              hc = next;
            }
            x[3 + 2 * i] = hc;
            x[4 + 2 * i] = hs;
          }
          for (let i = 0; i < base; i++) {
            for (let j = 0; j <= i; j++) G[i * width + j]! += x[i]! * x[j]!;
            G[column * width + i]! += d * x[i]!;
            g[i]! += x[i]! * y;
          }
          G[column * width + column]! += d * d;
          g[column]! += d * y;
          yy += y * y;
          used++;
        }
        const next = c * stepC - s * stepS;
        s = s * stepC + c * stepS;
        c = next;
      }
    }
    for (let i = 0; i < width; i++) for (let j = 0; j < i; j++) G[j * width + i] = G[i * width + j]!;
    if (known !== null) {
      const weight = (known.noise / (2 * Math.PI * half * known.standard)) ** 2;
      G[2 * width + 2]! += weight;
      g[2]! += weight * 2 * Math.PI * half * (known.cycles - cycles);
    }
    const solved = symmetricSolve(G, g);
    if (solved === null) return null;
    let rss = yy;
    for (let i = 0; i < width; i++) rss -= solved.x[i]! * g[i]!;
    const jumpVariance = Array.from({ length: pieces - 1 }, (_, k) => {
      const [i, j] = [base + k, base + k + 1];
      return solved.inverse[i * width + i]! + solved.inverse[j * width + j]! - 2 * solved.inverse[i * width + j]!;
    });
    found = {
      cycles,
      offset: middle + solved.x[0]!,
      amplitude: Math.abs(solved.x[1]!),
      starts,
      phases: [...phases],
      harmonics: harmonics.map((order, i) => ({ order, c: solved.x[3 + 2 * i]!, s: solved.x[4 + 2 * i]! })),
      levelMoves: [...solved.x.subarray(level, level + moves.level)],
      amplitudeMoves: [...solved.x.subarray(level + moves.level, base)],
      jumpVariance,
      rss: Math.max(rss, 1e-9),
      free: used - width,
    };
    let moved = 0;
    for (let k = 0; k < pieces; k++) {
      // What the time column adds at the record's middle is zero; phases are held at reading 0.
      const by = Math.max(-0.5, Math.min(0.5, solved.x[base + k]!));
      phases[k]! += by - solved.x[2]!;
      moved = Math.max(moved, Math.abs(by));
    }
    cycles += solved.x[2]! / (2 * Math.PI * half);
    amplitude = found.amplitude;
    if (!(cycles > 0 && cycles < 0.5) || !(amplitude > 0)) return null;
    if (moved < 1e-5 && Math.abs(solved.x[2]!) < 1e-5) break;
  }
  return found;
}

/** Whether a harmonic is told from level, tone and half the sample rate. */
function isApart(order: number, cycles: number, readings: number): boolean {
  const folded = Math.abs(order * cycles - Math.round(order * cycles));
  const cell = 1.5 / readings;
  return folded > cell && folded < 0.5 - cell && Math.abs(folded - cycles) > cell && order * cycles < 0.5;
}
