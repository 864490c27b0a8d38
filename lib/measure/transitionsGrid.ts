/**
 * Where the readings of a sweep lie along it: distinct positions in rising order, and how many readings fell on each.
 * Position 0 is the lowest input, 1 the highest.
 */
export interface PositionGrid {
  readonly positions: Float64Array;
  /** Readings at or before each position; the last element is the number of readings. */
  readonly counts: Float64Array;
  readonly readings: number;
  /** Running sum of the cubes of the gaps between positions, for mean squared gaps in any window; element j sums the gaps before position j. */
  readonly gapCubes: Float64Array;
}

/**
 * Buckets that positions are counted in when there are more readings than this; fewer are kept exactly. A bucket is a few hundredths of an LSB, and
 * no more than a count: a pass over a long record touches a new one with every reading, and is as fast as they are close together in memory.
 */
export function bucketCount(codes: number): number {
  return Math.min(1 << 21, Math.max(1 << 17, 2 ** Math.ceil(Math.log2(16 * codes))));
}

/** Positions closer than this share of the mean gap are one position that came several times (a record that repeats its phases). */
const SAME = 1e-3;

/** A grid of positions that are already in order, one reading each. */
export function gridOf(sorted: Float64Array): PositionGrid {
  const readings = sorted.length;
  const tolerance = SAME / readings;
  let distinct = 0;
  const positions = sorted.slice();
  const counts = new Float64Array(readings);
  for (let n = 0; n < readings; n++) {
    // Compared with the previous reading, not with the group's first, so that a slow drift through a group keeps it together.
    if (n > 0 && sorted[n]! - sorted[n - 1]! < tolerance) counts[distinct - 1] = n + 1;
    else {
      positions[distinct] = sorted[n]!;
      counts[distinct++] = n + 1;
    }
  }
  return finish(positions.subarray(0, distinct), counts.subarray(0, distinct));
}

/**
 * A grid from readings counted in equal buckets of 0…1. Each stands in the middle of its bucket: where all buckets are filled, the edges between positions are then the
 * buckets' own, below which the count is exact.
 * @param filled  readings of each bucket
 */
export function gridOfBuckets(filled: Int32Array): PositionGrid {
  let distinct = 0;
  for (let i = 0; i < filled.length; i++) if (filled[i]! > 0) distinct++;
  const positions = new Float64Array(distinct);
  const counts = new Float64Array(distinct);
  let sum = 0;
  for (let i = 0, j = 0; i < filled.length; i++) {
    const count = filled[i]!;
    if (count === 0) continue;
    sum += count;
    positions[j] = (i + 0.5) / filled.length;
    counts[j++] = sum;
  }
  return finish(positions, counts);
}

function finish(positions: Float64Array, counts: Float64Array): PositionGrid {
  const gapCubes = new Float64Array(positions.length);
  for (let j = 1; j < positions.length; j++) {
    const gap = positions[j]! - positions[j - 1]!;
    gapCubes[j] = gapCubes[j - 1]! + gap * gap * gap;
  }
  return {
    positions,
    counts,
    readings: counts[counts.length - 1] ?? 0,
    gapCubes,
  };
}

const SEGMENTS = 32;

/**
 * How many readings the running count strays from a straight line within a SEGMENTS-th of the sweep, at most, structure finer than `reach` averaged out:
 * well below one for even phases, tens for a record that nearly repeats.
 */
export function unevenness({ positions, counts }: PositionGrid, reach: number): number {
  // A position's readings count half below it: the running count at the position itself.
  const at = (j: number): number => (counts[j]! + (j > 0 ? counts[j - 1]! : 0)) / 2;
  let worst = 0;
  const last = positions.length - 1;
  for (let from = 0, segment = 1; from < last; segment++) {
    let to = from;
    while (to < last && (to === from || positions[to]! < segment / SEGMENTS)) to++;
    const start = at(from);
    const slope = (at(to) - start) / (positions[to]! - positions[from]!);
    let sum = 0;
    let width = 0;
    let end = positions[from]! + reach;
    for (let j = from + 1; j < to; j++) {
      const x = positions[j]!;
      if (x > end && width > 0) {
        worst = Math.max(worst, Math.abs(sum / width));
        sum = 0;
        width = 0;
        end = x + reach;
      }
      // Weighted by the distance to its neighbours, so that the mean is one over the sweep and not over the readings.
      const cell = positions[j + 1]! - positions[j - 1]!;
      sum += cell * (at(j) - start - slope * (x - positions[from]!));
      width += cell;
    }
    if (width > 0) worst = Math.max(worst, Math.abs(sum / width));
    from = to;
  }
  return worst;
}

/** Two sorted lists as one. */
export function merged(a: Float64Array, b: Float64Array): Float64Array {
  const all = new Float64Array(a.length + b.length);
  let i = 0;
  let j = 0;
  for (let n = 0; n < all.length; n++) all[n] = j >= b.length || (i < a.length && a[i]! <= b[j]!) ? a[i++]! : b[j++]!;
  return all;
}

/**
 * Sorts positions in 0…1 in place of a comparison sort: they are spread nearly evenly, so that a bucket of one mean gap holds about one of them. A
 * record that repeats its phases fills few buckets with many; those are sorted by comparison.
 */
export function sortPositions(values: Float64Array): Float64Array {
  const count = values.length;
  if (count < 64) return values.slice().sort();
  const starts = new Int32Array(count + 1);
  const bucketOf = (x: number): number => Math.min(count - 1, Math.floor(x * count));
  for (let n = 0; n < count; n++) starts[bucketOf(values[n]!) + 1]!++;
  for (let b = 0; b < count; b++) starts[b + 1]! += starts[b]!;
  const next = starts.slice(0, count);
  const sorted = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    const x = values[n]!;
    sorted[next[bucketOf(x)]!++] = x;
  }
  for (let b = 0; b < count; b++) {
    const from = starts[b]!;
    const to = starts[b + 1]!;
    if (to - from > 24) sorted.subarray(from, to).sort();
    else
      for (let i = from + 1; i < to; i++) {
        const x = sorted[i]!;
        let j = i - 1;
        for (; j >= from && sorted[j]! > x; j--) sorted[j + 1] = sorted[j]!;
        sorted[j + 1] = x;
      }
  }
  return sorted;
}

/** First index whose position is at least x; positions.length when there is none. */
export function indexAt({ positions }: PositionGrid, x: number): number {
  const count = positions.length;
  // Positions are nearly even, so that the answer lies near x·count: gallop from there.
  let low = Math.min(count, Math.max(0, Math.floor(x * count)));
  let high = low;
  if (low < count && positions[low]! < x) {
    for (let step = 1; high < count && positions[high]! < x; step *= 2) {
      low = high + 1;
      high = Math.min(count, high + step);
    }
  } else {
    for (let step = 1; low > 0 && positions[low - 1]! >= x; step *= 2) {
      high = low - 1;
      low = Math.max(0, low - step);
    }
  }
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (positions[middle]! < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * The position with `below` readings under it: half-way between neighbours where that many readings end a position, in proportion
 * within a position's own cell where its readings are shared.
 * @param from  an index known to lie at or before the answer (calls with rising `below` pass the last one)
 */
export function quantile(grid: PositionGrid, below: number, from = 0): { position: number; index: number } {
  const { positions, counts } = grid;
  let j = from;
  while (j < counts.length - 1 && counts[j]! < below) j++;
  const edge = (i: number): number =>
    i < 0
      ? positions[0]!
      : i >= positions.length - 1
        ? positions[positions.length - 1]!
        : (positions[i]! + positions[i + 1]!) / 2;
  const before = j > 0 ? counts[j - 1]! : 0;
  const share = Math.min(1, Math.max(0, (below - before) / (counts[j]! - before)));
  return { position: share === 1 ? edge(j) : edge(j - 1) + share * (edge(j) - edge(j - 1)), index: j };
}

/** Readings below a position, each spread evenly over its cell (half-way to its neighbours): the inverse of quantile. */
export function countAt(grid: PositionGrid, x: number): number {
  const { positions, counts, readings } = grid;
  const last = positions.length - 1;
  const j = indexAt(grid, x);
  if (j === 0) return 0;
  if (j > last) return readings;
  // x lies between positions j − 1 and j: beyond their middle it is in the cell of j.
  const middle = (positions[j - 1]! + positions[j]!) / 2;
  const cell = x < middle ? j - 1 : j;
  const from = cell === 0 ? positions[0]! : cell === j ? middle : (positions[cell - 1]! + positions[cell]!) / 2;
  const to = cell === last ? positions[last]! : cell === j ? (positions[j]! + positions[j + 1]!) / 2 : middle;
  const before = cell > 0 ? counts[cell - 1]! : 0;
  return to > from ? before + ((counts[cell]! - before) * (x - from)) / (to - from) : before;
}

/** The running count at evenly spaced positions, for looking it up without a search; two to four cells a position. */
export function countTable(grid: PositionGrid): Float64Array {
  const cells = Math.min(1 << 22, 2 ** Math.ceil(Math.log2(2 * grid.positions.length)));
  const table = new Float64Array(cells + 1);
  const { positions, counts, readings } = grid;
  const last = positions.length - 1;
  // Straight between the edges of the positions' own cells, as countAt has it, walked from the bottom.
  let x0 = positions[0]!;
  let y0 = 0;
  let x1 = x0;
  let y1 = 0;
  for (let i = 0, j = -1; i <= cells; i++) {
    const x = i / cells;
    while (x > x1 && j < last) {
      j++;
      x0 = x1;
      y0 = y1;
      x1 = j < last ? (positions[j]! + positions[j + 1]!) / 2 : positions[last]!;
      y1 = counts[j]!;
    }
    table[i] =
      x <= positions[0]! ? 0 : x >= x1 ? (j === last ? readings : y1) : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
  }
  return table;
}

/** Readings below a position, by linear interpolation in a countTable. */
export function tableCount(table: Float64Array, x: number): number {
  const cells = table.length - 1;
  const place = Math.min(1, Math.max(0, x)) * cells;
  const i = Math.min(cells - 1, Math.floor(place));
  return table[i]! + (place - i) * (table[i + 1]! - table[i]!);
}

/** Readings per unit of position, and the mean squared gap met by a point that falls anywhere in the window position ± reach. */
export function neighbourhood(
  grid: PositionGrid,
  position: number,
  reach: number,
): { density: number; gapSquare: number } {
  const { positions, counts, gapCubes, readings } = grid;
  const last = positions.length - 1;
  const lower = (x: number): number => Math.max(0, indexAt(grid, x) - 1);
  const upper = (x: number): number => Math.min(last, indexAt(grid, x));
  const a = lower(position - reach);
  const b = Math.max(a, upper(position + reach));
  const span = positions[b]! - positions[a]!;
  const gapSquare = span > 0 ? (gapCubes[b]! - gapCubes[a]!) / span : 1 / readings ** 2;
  // Few readings give a poor density: at least four gaps on each side.
  const wide = Math.max(reach, 4 / positions.length);
  const c = lower(position - wide);
  const d = Math.max(c, upper(position + wide));
  const width = positions[d]! - positions[c]!;
  const inside = counts[d]! - counts[c]!;
  return { density: width > 0 && inside > 0 ? inside / width : readings, gapSquare };
}
