// Moves of a sine's middle and amplitude along a record. What the sine leaves is gathered in blocks of time by bins of the sine's phase, and columns over these cells are fitted to it:
// a course over the blocks times a function of the phase.

const BINS = 16;

/** The course that explains most. */
export class Explained {
  /** Which of the shapes; −1 where none can be told from the rest. */
  shape: i32 = -1;
  size: f64 = 0;
  squares: f64 = 0;
  /** Mean square of block means about the course, in units of a reading's; of fewer than five blocks 0. */
  scatter: f64 = 0;
}

export class FittedCourses {
  /** Columns that the sine, its harmonics and its frequency take up. */
  rank: i32 = 0;
  /** Sum of squares that these leave. */
  rss: f64 = 0;
  middle: Explained = new Explained();
  amplitude: Explained = new Explained();
}

/**
 * Least squares of each course together with the sine's harmonics and a small error of its frequency.
 * @param sums, counts  blocks × bins
 * @param squares       that the sine leaves
 * @param shapes        courses over the blocks, one after another, the even one first
 */
export function fitCourses(
  sums: Float64Array,
  counts: Float64Array,
  squares: f64,
  shapes: Float64Array,
  harmonics: i32,
): FittedCourses {
  const blocks = sums.length / BINS;
  const always = new Float64Array(blocks).fill(1);
  const even = shapes.subarray(0, blocks);
  const one = new Float64Array(BINS).fill(1);
  const columns: Float64Array[] = [];
  columns.push(product(always, one));
  columns.push(product(even, overBins(1, false)));
  for (let h = 1; h <= harmonics; h++) {
    columns.push(product(always, overBins(h, true)));
    columns.push(product(always, overBins(h, false)));
  }
  const basis: Float64Array[] = [];
  for (let k = 0; k < columns.length; k++) {
    const a = columns[k];
    const before = dot(a, a, counts);
    orthogonal(a, basis, counts);
    const left = orthogonal(a, basis, counts);
    if (!(left > 1e-3 * before)) continue;
    const norm = sqrt<f64>(left);
    for (let i = 0; i < a.length; i++) a[i] = a[i] / norm;
    basis.push(a);
  }
  const means = new Float64Array(sums.length);
  for (let i = 0; i < sums.length; i++) means[i] = counts[i] > 0 ? sums[i] / counts[i] : 0;
  const found = new FittedCourses();
  found.rank = basis.length;
  const before = dot(means, means, counts);
  found.rss = squares - before + orthogonal(means, basis, counts);
  found.middle = mostExplained(means, one, shapes, basis, counts);
  found.amplitude = mostExplained(means, overBins(1, true), shapes, basis, counts);
  return found;
}

/** @param means  what the basis leaves of the cells' means */
function mostExplained(
  means: Float64Array,
  weight: Float64Array,
  shapes: Float64Array,
  basis: Array<Float64Array>,
  counts: Float64Array,
): Explained {
  const blocks = counts.length / BINS;
  const best = new Explained();
  for (let k = 0; k < shapes.length / blocks; k++) {
    const a = product(shapes.subarray(k * blocks, (k + 1) * blocks), weight);
    const all = dot(a, a, counts);
    let own = all;
    for (let j = 0; j < basis.length; j++) {
      const share = dot(a, basis[j], counts);
      own -= share * share;
    }
    if (own < 1e-3 * all) continue;
    // The remainder has no share of the basis any more, so that the column's own share need not be taken off.
    const along = dot(a, means, counts);
    const squares = (along * along) / own;
    if (best.shape >= 0 && !(squares > best.squares)) continue;
    best.shape = k;
    best.squares = squares;
    best.size = along / own;
  }
  if (best.shape < 0) return best;
  const a = product(shapes.subarray(best.shape * blocks, (best.shape + 1) * blocks), weight);
  orthogonal(a, basis, counts);
  let scatter: f64 = 0;
  let used: f64 = 0;
  for (let b = 0; b < blocks; b++) {
    let sum: f64 = 0;
    let norm: f64 = 0;
    for (let i = b * BINS; i < (b + 1) * BINS; i++) {
      const w = weight[i % BINS];
      sum += counts[i] * w * (means[i] - best.size * a[i]);
      norm += counts[i] * w * w;
    }
    if (norm > 0) {
      scatter += (sum * sum) / norm;
      used++;
    }
  }
  if (used > 4) best.scatter = scatter / (used - 3);
  return best;
}

/** A column over all cells: a course over the blocks times a function of the phase. */
function product(course: Float64Array, phase: Float64Array): Float64Array {
  const column = new Float64Array(course.length * BINS);
  if (phase.length < BINS) unreachable();
  for (let b = 0; b < course.length; b++) {
    const size = course[b];
    for (let i = 0; i < BINS; i++) unchecked((column[b * BINS + i] = size * unchecked(phase[i])));
  }
  return column;
}

/** Cosine or sine of a multiple of the bins' phase. */
function overBins(harmonic: i32, isCosine: bool): Float64Array {
  const values = new Float64Array(BINS);
  for (let i = 0; i < BINS; i++) {
    const phase = (2 * Math.PI * (i + 0.5)) / BINS;
    values[i] = isCosine ? Math.cos(harmonic * phase) : Math.sin(harmonic * phase);
  }
  return values;
}

function dot(a: Float64Array, b: Float64Array, counts: Float64Array): f64 {
  let sum: f64 = 0;
  if (a.length < counts.length || b.length < counts.length) unreachable();
  for (let i = 0; i < counts.length; i++) sum += unchecked(a[i]) * unchecked(b[i]) * unchecked(counts[i]);
  return sum;
}

/** Takes the basis off a column, in place; @returns what is left of its squares. */
function orthogonal(a: Float64Array, basis: Array<Float64Array>, counts: Float64Array): f64 {
  for (let k = 0; k < basis.length; k++) {
    const b = basis[k];
    const along = dot(a, b, counts);
    if (b.length < a.length) unreachable();
    for (let i = 0; i < a.length; i++) unchecked((a[i] -= along * unchecked(b[i])));
  }
  return dot(a, a, counts);
}
