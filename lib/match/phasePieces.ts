/** Most places between which pieces may begin; in longer records blocks of readings stay together. */
const MOST_NODES = 256;
/** Readings of the shortest piece: three are fitted away. */
const SHORTEST = 6;
/** Share of a column that must be left when the others are projected out. */
const SINGULAR = 1e-7;

/** A record cut into pieces, each a sine of its own level, amplitude and phase, all of one frequency. */
export interface PhasePieces {
  readonly cycles: number;
  /** First reading of each piece, the first of them 0; good to `length` readings. */
  readonly starts: readonly number[];
  readonly length: number;
  /** Sum of squares that is left, and a price for each piece. */
  readonly cost: number;
}

/** Sums over the readings before each node: used, y, y², cos, sin, cos², cos·sin, y·cos, y·sin. */
type NodeSums = readonly Float64Array[];

function nodeSums(
  codes: ArrayLike<number>,
  cycles: number,
  length: number,
  nodes: number,
  exclude: ((code: number) => boolean) | null,
): NodeSums {
  const sums = Array.from({ length: 9 }, () => new Float64Array(nodes + 1));
  const at = new Float64Array(9);
  const middle = codes[codes.length >> 1]!;
  const [stepC, stepS] = [Math.cos(2 * Math.PI * cycles), Math.sin(2 * Math.PI * cycles)];
  for (let b = 0; b < nodes; b++) {
    const last = b === nodes - 1 ? codes.length : (b + 1) * length;
    const turns = cycles * b * length;
    let c = Math.cos(2 * Math.PI * (turns - Math.floor(turns)));
    let s = Math.sin(2 * Math.PI * (turns - Math.floor(turns)));
    for (let n = b * length; n < last; n++) {
      const code = codes[n]!;
      if (exclude === null || !exclude(code)) {
        const y = code - middle;
        at[0]!++;
        at[1]! += y;
        at[2]! += y * y;
        at[3]! += c;
        at[4]! += s;
        at[5]! += c * c;
        at[6]! += c * s;
        at[7]! += y * c;
        at[8]! += y * s;
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
    }
    for (let i = 0; i < 9; i++) sums[i]![b + 1] = at[i]!;
  }
  return sums;
}

/** What a sine leaves of the readings between two nodes. */
function left(sums: NodeSums, from: number, to: number): number {
  const d = (i: number): number => sums[i]![to]! - sums[i]![from]!;
  const n = d(0);
  if (n < 1) return 0;
  const [y, c, s] = [d(1), d(3), d(4)];
  let rest = d(2) - (y * y) / n;
  const cc = d(5) - (c * c) / n;
  const yc = d(7) - (y * c) / n;
  let ss = n - d(5) - (s * s) / n;
  let ys = d(8) - (y * s) / n;
  if (cc > SINGULAR * n) {
    const cs = d(6) - (c * s) / n;
    rest -= (yc * yc) / cc;
    ss -= (cs * cs) / cc;
    ys -= (yc * cs) / cc;
  }
  if (ss > SINGULAR * n) rest -= (ys * ys) / ss;
  return Math.max(0, rest);
}

/**
 * The pieces that cost least, by dynamic programming over all places (Bellman; "optimal partitioning", Jackson and others, IEEE Signal Processing Letters 12, 2005, from memory). Many jumps
 * are found together, where one at a time would find none: each hides among the others.
 * 256 nodes take some 33 000 fits from running sums, about 3 ms.
 * @param noise  rms of one reading, codes; a piece costs `price` times its square
 */
export function phasePieces(
  codes: ArrayLike<number>,
  cycles: number,
  noise: number,
  price: number,
  exclude: ((code: number) => boolean) | null,
): PhasePieces {
  const length = Math.max(1, Math.ceil(codes.length / MOST_NODES));
  const nodes = Math.max(1, Math.floor(codes.length / length));
  const sums = nodeSums(codes, cycles, length, nodes, exclude);
  const least = Math.ceil(SHORTEST / length);
  const cost = new Float64Array(nodes + 1).fill(Number.POSITIVE_INFINITY);
  const from = new Int32Array(nodes + 1);
  const fee = price * noise * noise;
  cost[0] = -fee;
  for (let to = least; to <= nodes; to++)
    for (let start = 0; start + least <= to; start++) {
      const before = cost[start]! + fee;
      if (before >= cost[to]!) continue;
      const total = before + left(sums, start, to);
      if (total < cost[to]!) {
        cost[to] = total;
        from[to] = start;
      }
    }
  const starts: number[] = [];
  for (let to = nodes; to > 0; to = from[to]!) starts.unshift(from[to]! * length);
  return { cycles, starts, length, cost: cost[nodes]! };
}

/** Readings of a window looked at for the noise; of those the tenth that fits best tells, and by how much its rms of five free readings falls short: χ²₅ is below 1.61 in a tenth of cases. */
const WINDOW = 8;
const TENTH_SHORT = Math.sqrt(5 / 1.61);

/** rms of a reading about a sine over eight readings, from the tenth of windows that fit best: where readings are lost every dozen, jumps spoil most of them. Codes. */
export function quietNoise(codes: Int32Array, cycles: number, exclude: ((code: number) => boolean) | null): number {
  const stride = Math.max(1, Math.floor(codes.length / 512));
  const seen: number[] = [];
  for (let first = 0; first + WINDOW <= codes.length; first += stride) {
    const sums = nodeSums(codes.subarray(first, first + WINDOW), cycles, WINDOW, 1, exclude);
    const used = sums[0]![1]!;
    if (used === WINDOW) seen.push(left(sums, 0, 1) / (used - 3));
  }
  seen.sort((a, b) => a - b);
  const tenth = seen[Math.floor(seen.length / 10)];
  return tenth === undefined ? Number.NaN : TENTH_SHORT * Math.sqrt(tenth);
}
