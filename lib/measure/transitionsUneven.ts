import type { Lsb } from "../bench/units.ts";
import { normalCdf, normalPdf } from "../signal/normal.ts";
import { COARSE, type Corrected, REACH, type Smeared, smeared, solveShare } from "./transitionsEdge.ts";
import { countAt, countTable, indexAt, type PositionGrid, tableCount } from "./transitionsGrid.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** Φ and φ at steps of 1/STEPS up to LAST standard deviations, interpolated: 1e-6, and asked for millions of times. */
const STEPS = 256;
const LAST = 8;
let made: { readonly cdf: Float64Array; readonly pdf: Float64Array } | null = null;

/** Made when first asked for: most records go without. */
function normalTable(): { readonly cdf: Float64Array; readonly pdf: Float64Array } {
  if (made !== null) return made;
  const points = 2 * LAST * STEPS + 2;
  const cdf = new Float64Array(points);
  const pdf = new Float64Array(points);
  for (let i = 0; i < points; i++) {
    cdf[i] = normalCdf(i / STEPS - LAST);
    pdf[i] = normalPdf(i / STEPS - LAST);
  }
  made = { cdf, pdf };
  return made;
}

/** Sums positions one by one when no more than this many lie within the noise's reach. */
const FEW = 48;
/** With this many σ to the nearest end the waveform is a parabola within the noise's reach, to 1e-3 of σ. */
const FAR = 40;

/** Corrects transitions of one sweep for where its readings really lie. */
export type Unevenness = (x: Lsb, below: number) => Corrected | null;

/**
 * For readings that are spread unevenly: phases that nearly repeat leave arcs and holes, which noise smears but does not fill. The transition is where the expected
 * count, Σ Φ((T − x_n)/σ) over the record's own inputs, equals the count seen; with many readings within the noise's reach by quadrature over the running count.
 * @returns a function of the uncorrected level and the readings below the transition; it gives null when the readings are too far apart for the
 *   noise to join them, or the sweep does not reach the transition
 */
export function unevennessOf(grid: PositionGrid, waveform: Waveform, sigma: Lsb): Unevenness {
  const { readings, positions, counts } = grid;
  const table = countTable(grid);
  const inputs = (j: number): Lsb => waveform.at(positions[j]!);
  return (x, below) => {
    const from = indexAt(grid, waveform.below(x - (REACH + 1) * sigma));
    const to = indexAt(grid, waveform.below(x + (REACH + 1) * sigma));
    const before = from > 0 ? counts[from - 1]! : 0;
    let smear: (y: Lsb) => Smeared;
    if (to - from <= FEW) {
      const near = Float64Array.from({ length: to - from }, (_, i) => inputs(from + i));
      smear = (y) => summed(near, counts, from, before, readings, y, sigma);
    } else if (Math.min(x - waveform.lowest, waveform.highest - x) > FAR * sigma) {
      smear = parabolic(waveform, x, sigma, table, readings);
    } else {
      const fine = Math.min(x - waveform.lowest, waveform.highest - x) < 1.5 * REACH * sigma;
      smear = (y) => smeared((v) => countAt(grid, waveform.below(v)) / readings, y, sigma, fine);
    }
    const start = smear(x);
    const even = (counts[Math.min(to, counts.length - 1)]! - before) / readings / (2 * (REACH + 1) * sigma);
    if (start.slope < even / 2) return null;
    const solved = solveShare(smear, below / readings, waveform, x, sigma);
    return solved !== null && Math.abs(solved.x - x) < 2 * sigma ? solved : null;
  };
}

/** Every position within reach on its own. */
function summed(
  near: Float64Array,
  counts: Float64Array,
  from: number,
  before: number,
  readings: number,
  y: Lsb,
  sigma: Lsb,
): Smeared {
  const { cdf, pdf } = normalTable();
  let share = before;
  let slope = 0;
  let scatter = 0;
  let last = before;
  for (let i = 0; i < near.length; i++) {
    const count = counts[from + i]!;
    const weight = count - last;
    last = count;
    const place = Math.min(2 * LAST, Math.max(0, (y - near[i]!) / sigma + LAST)) * STEPS;
    const cell = Math.floor(place);
    const rest = place - cell;
    const p = cdf[cell]! + rest * (cdf[cell + 1]! - cdf[cell]!);
    share += weight * p;
    slope += weight * (pdf[cell]! + rest * (pdf[cell + 1]! - pdf[cell]!));
    scatter += weight * p * (1 - p);
  }
  return { share: share / readings, slope: slope / sigma / readings, scatter: scatter / readings };
}

/** Quadrature with position as a parabola of input about x: no arc cosine a node. */
function parabolic(waveform: Waveform, x: Lsb, sigma: Lsb, table: Float64Array, readings: number): (y: Lsb) => Smeared {
  const position = waveform.below(x);
  const slope = waveform.slope(position);
  const h = 1e-5;
  const bend = (waveform.slope(position + h) - waveform.slope(position - h)) / (2 * h);
  const a = 1 / slope;
  const b = -bend / (2 * slope ** 3);
  return (y) => {
    let share = 0;
    let steep = 0;
    let scatter = 0;
    for (let i = 0; i < COARSE.z.length; i++) {
      const d = y - x - sigma * COARSE.z[i]!;
      const count = tableCount(table, position + d * (a + d * b));
      share += COARSE.share[i]! * count;
      steep -= COARSE.slope[i]! * count;
      scatter += COARSE.scatter[i]! * count;
    }
    return { share: share / readings, slope: steep / sigma / readings, scatter: scatter / readings };
  };
}
