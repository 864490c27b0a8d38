/** Where the readings of a sweep lie along it: distinct positions in rising order, and how many readings lie at or before each. */
export class PositionGrid {
  positions: Float64Array = new Float64Array(0);
  counts: Float64Array = new Float64Array(0);
  readings: f64 = 0;
}

/** First index whose position is at least x; the number of positions when there is none. */
export function indexAt(positions: Float64Array, x: f64): i32 {
  const count = positions.length;
  // Positions are nearly even, so that the answer lies near x·count: gallop from there.
  let low = <i32>min<f64>(count, max<f64>(0, floor<f64>(x * count)));
  let high = low;
  // From here on 0 ≤ low ≤ high ≤ count.
  if (low < count && unchecked(positions[low]) < x) {
    for (let step = 1; high < count && unchecked(positions[high]) < x; step *= 2) {
      low = high + 1;
      high = min(count, high + step);
    }
  } else {
    for (let step = 1; low > 0 && unchecked(positions[low - 1]) >= x; step *= 2) {
      high = low - 1;
      low = max(0, low - step);
    }
  }
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (unchecked(positions[middle]) < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** A place on a grid. */
export class Quantile {
  position: f64 = 0;
  /** Of the distinct position whose readings reach it. */
  index: i32 = 0;
}

/** Edge between position i and the next; beyond the first and the last the positions themselves. */
function edge(positions: Float64Array, i: i32): f64 {
  const last = positions.length - 1;
  return i < 0 ? positions[0] : i >= last ? positions[last] : (positions[i] + positions[i + 1]) / 2;
}

/**
 * The position with so many readings below it: half-way between two readings, or inside a group of equal ones by their share.
 * @param from  an index known to lie at or before the answer (calls with rising `below` pass the last one)
 */
export function quantile(grid: PositionGrid, below: f64, from: i32): Quantile {
  const positions = grid.positions;
  const counts = grid.counts;
  if (from < 0) unreachable();
  let j = from;
  while (j < counts.length - 1 && unchecked(counts[j]) < below) j++;
  const before = j > 0 ? counts[j - 1] : 0;
  const share = min<f64>(1, max<f64>(0, (below - before) / (counts[j] - before)));
  return {
    position:
      share === 1 ? edge(positions, j) : edge(positions, j - 1) + share * (edge(positions, j) - edge(positions, j - 1)),
    index: j,
  };
}

/** Readings below a position, each spread evenly over its cell (half-way to its neighbours): the inverse of quantile. */
export function countAt(grid: PositionGrid, x: f64): f64 {
  const positions = grid.positions;
  const counts = grid.counts;
  const last = positions.length - 1;
  const j = indexAt(positions, x);
  if (j === 0) return 0;
  if (j > last) return grid.readings;
  // x lies between positions j − 1 and j: beyond their middle it is in the cell of j.
  const middle = (positions[j - 1] + positions[j]) / 2;
  const cell = x < middle ? j - 1 : j;
  const from = cell === 0 ? positions[0] : cell === j ? middle : (positions[cell - 1] + positions[cell]) / 2;
  const to = cell === last ? positions[last] : cell === j ? (positions[j] + positions[j + 1]) / 2 : middle;
  const before = cell > 0 ? counts[cell - 1] : 0;
  return to > from ? before + ((counts[cell] - before) * (x - from)) / (to - from) : before;
}

/** The running count at evenly spaced positions, for looking it up without a search; two to four cells a position. */
export function countTable(grid: PositionGrid): Float64Array {
  const positions = grid.positions;
  const counts = grid.counts;
  let cells = 1;
  while (cells < 2 * positions.length && cells < 1 << 22) cells *= 2;
  const table = new Float64Array(cells + 1);
  const last = positions.length - 1;
  // Straight between the edges of the positions' own cells, as countAt has it, walked from the bottom.
  if (counts.length < positions.length) unreachable();
  const lowest = positions[0];
  const highest = positions[last];
  let x0 = lowest;
  let y0: f64 = 0;
  let x1 = x0;
  let y1: f64 = 0;
  let j = -1;
  for (let i = 0; i <= cells; i++) {
    const x = <f64>i / cells;
    while (x > x1 && j < last) {
      j++;
      x0 = x1;
      y0 = y1;
      x1 = j < last ? (unchecked(positions[j]) + unchecked(positions[j + 1])) / 2 : highest;
      y1 = unchecked(counts[j]);
    }
    unchecked(
      (table[i] =
        x <= lowest ? 0 : x >= x1 ? (j === last ? grid.readings : y1) : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0)),
    );
  }
  // From the end of the sweep on all lie below, also where they all lie at it.
  table[cells] = grid.readings;
  return table;
}

/** Readings below a position, by linear interpolation in a countTable. */
export function tableCount(table: Float64Array, x: f64): f64 {
  const cells = table.length - 1;
  if (cells < 1) unreachable();
  const place = min<f64>(1, max<f64>(0, x)) * cells;
  const i = min(cells - 1, <i32>place);
  const before = unchecked(table[i]);
  return before + (place - i) * (unchecked(table[i + 1]) - before);
}

/** Running sum of the cubes of the gaps between positions, for mean squared gaps in any window; element j sums the gaps before position j. */
export function gapCubes(positions: Float64Array): Float64Array {
  const sums = new Float64Array(positions.length);
  let sum: f64 = 0;
  for (let j = 1; j < positions.length; j++) {
    const gap = unchecked(positions[j]) - unchecked(positions[j - 1]);
    sum += gap * gap * gap;
    unchecked((sums[j] = sum));
  }
  return sums;
}

/** What lies around a place on a sweep. */
export class Neighbourhood {
  /** Readings per unit of position. */
  density: f64 = 0;
  /** Mean squared gap met by a point that falls anywhere in the window. */
  gapSquare: f64 = 0;
}

/**
 * Density and gaps in the window position ± reach.
 * @param cubes  gapCubes of the grid's positions
 */
export function neighbourhood(grid: PositionGrid, cubes: Float64Array, position: f64, reach: f64): Neighbourhood {
  const positions = grid.positions;
  const counts = grid.counts;
  const last = positions.length - 1;
  const a = max(0, indexAt(positions, position - reach) - 1);
  const b = max(a, min(last, indexAt(positions, position + reach)));
  const span = positions[b] - positions[a];
  const gapSquare = span > 0 ? (cubes[b] - cubes[a]) / span : 1 / (grid.readings * grid.readings);
  // Few readings give a poor density: at least four gaps on each side.
  const wide = max<f64>(reach, 4.0 / positions.length);
  const c = max(0, indexAt(positions, position - wide) - 1);
  const d = max(c, min(last, indexAt(positions, position + wide)));
  const width = positions[d] - positions[c];
  const inside = counts[d] - counts[c];
  return { density: width > 0 && inside > 0 ? inside / width : grid.readings, gapSquare };
}

const SEGMENTS = 32;

/** A position's readings count half below it: the running count at position j, which is one of them, itself. */
function runningCount(counts: Float64Array, j: i32): f64 {
  return (unchecked(counts[j]) + (j > 0 ? unchecked(counts[j - 1]) : 0)) / 2;
}

/**
 * How many readings the running count strays from a straight line within a SEGMENTS-th of the sweep, at most, structure finer than `reach` averaged out:
 * well below one for even phases, tens for a record that nearly repeats.
 */
export function unevenness(grid: PositionGrid, reach: f64): f64 {
  const positions = grid.positions;
  const counts = grid.counts;
  const last = positions.length - 1;
  if (counts.length < positions.length) unreachable();
  let worst: f64 = 0;
  let from = 0;
  // 0 ≤ from < to ≤ last.
  for (let segment = 1; from < last; segment++) {
    const edge = <f64>segment / SEGMENTS;
    let to = from;
    while (to < last && (to === from || unchecked(positions[to]) < edge)) to++;
    const start = runningCount(counts, from);
    const first = positions[from];
    const slope = (runningCount(counts, to) - start) / (positions[to] - first);
    let sum: f64 = 0;
    let width: f64 = 0;
    let end = first + reach;
    for (let j = from + 1; j < to; j++) {
      const x = unchecked(positions[j]);
      if (x > end && width > 0) {
        worst = max<f64>(worst, abs<f64>(sum / width));
        sum = 0;
        width = 0;
        end = x + reach;
      }
      // Weighted by the distance to its neighbours, so that the mean is one over the sweep and not over the readings.
      const cell = unchecked(positions[j + 1]) - unchecked(positions[j - 1]);
      sum += cell * (runningCount(counts, j) - start - slope * (x - first));
      width += cell;
    }
    if (width > 0) worst = max<f64>(worst, abs<f64>(sum / width));
    from = to;
  }
  return worst;
}
