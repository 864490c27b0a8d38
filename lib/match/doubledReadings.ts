import type { CaptureRecord } from "../capture/record.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import { fitStretch } from "./fitRecord.ts";
import { quietNoise } from "./phasePieces.ts";
import { expectedCycles } from "./sampleRate.ts";
import { exclusion, type UsableCodes } from "./usableCodes.ts";

/** Longest record that is asked, and most readings that may be doubled in it. */
const LONGEST = 1 << 15;
const MOST = 128;
/** Fewer are told one by one, by the jump of phase that each makes. */
const LEAST = 3;
/** Cycles and readings of the beginning from which the walk starts, and readings by which its phase may be off there. */
const START = { cycles: 1.5, readings: 24, off: 12 };
const ROUNDS = 4;
/** Price of a doubled reading in −2·ln of likelihood, beside 2·ln of the places it may be at: half a nat of chance in a hundred thousand. */
const PRICE = 12;
/** What is left must be what noise and the converter's own curve leave: times the noise of short windows, and codes. */
const LEFT = { noise: 1.3, codes: 0.4 };

/** One sine leaves more codes rms of a record that is worth asking. */
const LEAST_LEFT = 0.7;

/** y = offset + a·cos ωj + b·sin ωj over places j of the signal. */
interface Sine {
  readonly omega: number;
  readonly offset: number;
  readonly a: number;
  readonly b: number;
}

/**
 * Readings that were logged twice, many of them: each holds the tone back by one reading, which passes for hundreds of lost ones, or for a lower frequency. The stated frequency is
 * followed along the record: a reading that equals the one before may be the same one again, and all choices together are made by dynamic programming (Viterbi 1967), the sine fitted
 * anew to what they leave. They count when what is left is no more than noise, and far less than one sine of any frequency leaves, each doubled reading paid for.
 * @returns the second reading of each pair; empty where they do not explain the record
 */
export function doubledReadings(record: CaptureRecord, usable: UsableCodes | null): number[] {
  const { codes, stimulus, spec } = record;
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null) return [];
  const cycles = expectedCycles(stimulus.frequency, spec.sampleRate);
  if (codes.length > LONGEST || codes.length < 2 * START.readings || !(cycles > 0)) return [];
  const whole = fitStretch(record, usable, [0, codes.length - 1]);
  if (whole === null || whole.residualRms < LEAST_LEFT) return [];
  const exclude = exclusion(usable);
  const noise = Math.max(0.3, quietNoise(codes, cycles, exclude) || 0.3);
  if (whole.residualRms < LEFT.noise * noise + LEFT.codes) return [];
  let equal = 0;
  for (let n = 1; n < codes.length; n++) if (codes[n] === codes[n - 1]) equal++;
  if (equal < LEAST) return [];
  const price = (PRICE + 2 * Math.log(equal)) * noise ** 2;
  let best: Followed | null = null;
  for (const start of starts(codes, cycles, exclude)) {
    const found = follow(codes, start, Math.min(MOST, equal), price, exclude);
    if (found !== null && (best === null || found.rss < best.rss)) best = found;
  }
  if (best === null || best.doubled.length < LEAST || best.doubled.length >= MOST) return [];
  // Priced by what is left, not by the noise of short windows, which overdrive makes too small.
  const gain = whole.readings * Math.log(whole.rss / best.rss);
  const paid = (best.doubled.length + 1) * (PRICE + 2 * Math.log(codes.length));
  if (!(gain > paid) || isOneLevel(codes, best.doubled, cycles)) return [];
  return Math.sqrt(best.rss / whole.readings) < LEFT.noise * noise + LEFT.codes ? best.doubled : [];
}

/** Share of the record's range within which doubled readings lie at one level. */
const ONE_LEVEL = 0.1;

/** Whether all lie at one level, no more than twice a cycle: a step of the converter's own curve, which the tone passes on each slope. */
function isOneLevel(codes: Int32Array, doubled: readonly number[], cycles: number): boolean {
  if (doubled.length > 2 * Math.ceil(cycles * codes.length)) return false;
  const at = doubled.map((n) => codes[n]!);
  const [low, high] = extent(codes);
  return Math.max(...at) - Math.min(...at) < ONE_LEVEL * (high - low);
}

function extent(codes: Int32Array): readonly [low: number, high: number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const code of codes) {
    low = Math.min(low, code);
    high = Math.max(high, code);
  }
  return [low, high];
}

interface Followed {
  readonly doubled: number[];
  readonly rss: number;
}

/** Walks along the record and fits the sine anew by turns, until nothing improves. */
function follow(codes: Int32Array, start: Sine, most: number, price: number, exclude: Exclude): Followed | null {
  const places = new Int32Array(codes.length);
  let sine = start;
  let best: Followed | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const doubled = walk(codes, sine, most, price, exclude, round === 0 ? START.off : 1);
    let next = 0;
    for (let n = 0; n < codes.length; n++) {
      if (doubled[next] === n) next++;
      places[n] = n - next;
    }
    const fitted = fitAlong(codes, places, sine, exclude, 0, codes.length, true);
    if (fitted === null) break;
    sine = fitted;
    const rss = leftOf(codes, places, sine, exclude);
    if (best === null || rss < best.rss) best = { doubled, rss };
    else if (round > 1) break;
  }
  return best;
}

/**
 * Sines to start from: through the first one and a half cycles, which hold many doubled readings of a slow tone; and through a quarter of one, of the size that the extremes have. Of a
 * fast tone the piece that fits best of some near the beginning.
 */
function starts(codes: Int32Array, cycles: number, exclude: Exclude): Sine[] {
  const omega = 2 * Math.PI * cycles;
  const plain: Sine = { omega, offset: 0, a: 0, b: 0 };
  const places = Int32Array.from(codes, (_, n) => n);
  const length = Math.min(codes.length, Math.max(START.readings, Math.ceil(START.cycles / cycles)));
  const found: Sine[] = [];
  let least = Number.POSITIVE_INFINITY;
  for (let first = 0; first <= 4 * START.readings && first + length <= codes.length; first += START.readings >> 1) {
    const sine = fitAlong(codes, places, plain, exclude, first, first + length, false);
    const left =
      sine === null ? least : leftOf(codes.subarray(first, first + length), places.subarray(first), sine, exclude);
    if (sine === null || left >= least) continue;
    least = left;
    found[0] = sine;
    if (length > START.readings) break;
  }
  const [low, high] = extent(codes);
  const quarter = Math.ceil(0.25 / cycles);
  if (quarter < START.readings) return found;
  const [offset, amplitude] = [(low + high) / 2, (high - low) / 2];
  const centred = codes.slice(0, quarter).map((y) => y - offset);
  const matrix = new Float64Array(4);
  const right = new Float64Array(2);
  centred.forEach((y, n) => {
    const [c, s] = [Math.cos(omega * n), Math.sin(omega * n)];
    matrix[0]! += c * c;
    matrix[1]! += c * s;
    matrix[2]! += c * s;
    matrix[3]! += s * s;
    right[0]! += y * c;
    right[1]! += y * s;
  });
  const solved = symmetricSolve(matrix, right);
  if (solved === null) return found;
  const [a, b] = [solved.x[0]!, solved.x[1]!];
  const scale = amplitude / Math.hypot(a, b);
  return [...found, { omega, offset, a: a * scale, b: b * scale }];
}

type Exclude = ((code: number) => boolean) | null;

/** Least squares over readings first…end − 1, with the frequency if it is not fixed. */
function fitAlong(
  codes: Int32Array,
  places: Int32Array,
  { omega, a, b }: Sine,
  exclude: Exclude,
  first: number,
  end: number,
  isFree: boolean,
): Sine | null {
  const size = isFree ? 4 : 3;
  const count = end - first;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const middle = (places[first]! + places[end - 1]!) / 2;
  const column = new Float64Array(size);
  column[0] = 1;
  for (let n = first; n < end; n++) {
    if (exclude?.(codes[n]!)) continue;
    const c = Math.cos(omega * places[n]!);
    const s = Math.sin(omega * places[n]!);
    column[1] = c;
    column[2] = s;
    if (size === 4) column[3] = ((places[n]! - middle) / count) * (b * c - a * s);
    for (let i = 0; i < size; i++) {
      right[i]! += column[i]! * codes[n]!;
      for (let k = 0; k < size; k++) matrix[i * size + k]! += column[i]! * column[k]!;
    }
  }
  const solved = symmetricSolve(matrix, right);
  if (solved === null) return null;
  const { x } = solved;
  const change = size === 4 ? x[3]! / count : 0;
  // The phase at the middle is kept: there the columns of phase and frequency have least in common.
  const turn = -change * middle;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  return { omega: omega + change, offset: x[0]!, a: x[1]! * c + x[2]! * s, b: x[2]! * c - x[1]! * s };
}

function leftOf(codes: Int32Array, places: Int32Array, { omega, offset, a, b }: Sine, exclude: Exclude): number {
  let rss = 0;
  for (let n = 0; n < codes.length; n++) {
    if (exclude?.(codes[n]!)) continue;
    const turn = omega * places[n]!;
    rss += (codes[n]! - offset - a * Math.cos(turn) - b * Math.sin(turn)) ** 2;
  }
  return rss;
}

/** The doubled readings that cost least along the record; the walk may begin up to `off` readings behind. */
function walk(codes: Int32Array, sine: Sine, most: number, price: number, exclude: Exclude, off: number): number[] {
  const { omega, offset, a, b } = sine;
  const states = most + off + 1;
  const ahead = off >> 1;
  // The signal at place i − states + ahead.
  const wave = Float64Array.from({ length: codes.length + states }, (_, i) => {
    const turn = omega * (i - states + ahead);
    return offset + a * Math.cos(turn) + b * Math.sin(turn);
  });
  const cost = new Float64Array(states).fill(Number.POSITIVE_INFINITY).fill(0, 0, off + 1);
  const came = new Uint8Array(codes.length * states);
  for (let n = 0; n < codes.length; n++) {
    const y = codes[n]!;
    const isUsed = !exclude?.(y);
    if (n > 0 && y === codes[n - 1])
      for (let m = states - 1; m > 0; m--) {
        const again = cost[m - 1]! + price;
        if (again >= cost[m]!) continue;
        cost[m] = again;
        came[n * states + m] = 1;
      }
    if (isUsed) for (let m = 0; m < states; m++) cost[m]! += (y - wave[n - m + states]!) ** 2;
  }
  let m = 0;
  for (let i = 1; i < states; i++) if (cost[i]! < cost[m]!) m = i;
  const doubled: number[] = [];
  for (let n = codes.length - 1; n > 0; n--)
    if (came[n * states + m] === 1) {
      doubled.unshift(n);
      m--;
    }
  return doubled;
}
