import { normalCdf, normalPdf } from "./normal";
import { countAt, countTable, indexAt, PositionGrid, tableCount } from "./positionGrid";
import { Corrected, Quadrature, QuadratureShare, REACH, SmearedShare, solveShare } from "./smearedShare";
import { inputAt, shareBelow, slopeAt, Waveform } from "./waveform";

/** Φ and φ at steps of 1/STEPS up to LAST standard deviations, interpolated: 1e-6, and asked for millions of times. */
const STEPS = 256;
const LAST = 8;

/** Sums positions one by one when no more than this many lie within the noise's reach. */
const FEW = 48;
/** With this many σ to the nearest end the waveform is a parabola within the noise's reach, to 1e-3 of σ. */
const FAR: f64 = 40;

/** The share of readings at known places, by quadrature over their running count. */
class GridShare extends QuadratureShare {
  constructor(
    private grid: PositionGrid,
    private waveform: Waveform,
    rule: Quadrature,
    sigma: f64,
  ) {
    super(rule, sigma);
  }

  below(x: f64): f64 {
    return countAt(this.grid, shareBelow(this.waveform, x)) / this.grid.readings;
  }
}

/** Every position within reach on its own. */
class SummedShare extends SmearedShare {
  private cdf: Float64Array = new Float64Array(2 * LAST * STEPS + 2);
  private pdf: Float64Array = new Float64Array(2 * LAST * STEPS + 2);
  /** Inputs of the grid's positions, worked out as they come near: neighbouring transitions share them. */
  private inputs: Float64Array;
  private near: Float64Array = new Float64Array(FEW);
  private weights: Float64Array = new Float64Array(FEW);
  private count: i32 = 0;
  private before: f64 = 0;

  constructor(
    private grid: PositionGrid,
    private waveform: Waveform,
    private sigma: f64,
  ) {
    super();
    this.inputs = new Float64Array(grid.positions.length).fill(NaN);
    const cdf = this.cdf;
    const pdf = this.pdf;
    // Above the middle as below it, mirrored; and one more step.
    const steps = 2 * LAST * STEPS;
    for (let i = 0; i <= steps / 2; i++) {
      const z = <f64>i / STEPS - LAST;
      cdf[i] = normalCdf(z);
      pdf[i] = normalPdf(z);
      if (z < 0) cdf[steps - i] = 1 - cdf[i];
      pdf[steps - i] = pdf[i];
    }
    cdf[steps + 1] = normalCdf(<f64>(steps + 1) / STEPS - LAST);
    pdf[steps + 1] = normalPdf(<f64>(steps + 1) / STEPS - LAST);
  }

  /** Takes the positions from…to−1, with so many readings before them. */
  take(from: i32, to: i32, before: f64): void {
    const inputs = this.inputs;
    const near = this.near;
    const weights = this.weights;
    const positions = this.grid.positions;
    const counts = this.grid.counts;
    let last = before;
    for (let i = from; i < to; i++) {
      if (Number.isNaN(inputs[i])) inputs[i] = inputAt(this.waveform, positions[i]);
      near[i - from] = inputs[i];
      weights[i - from] = counts[i] - last;
      last = counts[i];
    }
    this.count = to - from;
    this.before = before;
  }

  at(y: f64): void {
    const sigma = this.sigma;
    const readings = this.grid.readings;
    let share = this.before;
    let slope: f64 = 0;
    let scatter: f64 = 0;
    const count = this.count;
    const near = this.near;
    const weights = this.weights;
    const cdf = this.cdf;
    const pdf = this.pdf;
    // The tables reach a step beyond the last place.
    if (cdf.length < 2 * LAST * STEPS + 2 || pdf.length < cdf.length || min(near.length, weights.length) < count)
      unreachable();
    for (let i = 0; i < count; i++) {
      const weight = unchecked(weights[i]);
      const place = min<f64>(2 * LAST, max<f64>(0, (y - unchecked(near[i])) / sigma + LAST)) * STEPS;
      const cell = <i32>place;
      const rest = place - cell;
      const c = unchecked(cdf[cell]);
      const d = unchecked(pdf[cell]);
      const p = c + rest * (unchecked(cdf[cell + 1]) - c);
      share += weight * p;
      slope += weight * (d + rest * (unchecked(pdf[cell + 1]) - d));
      scatter += weight * p * (1 - p);
    }
    this.share = share / readings;
    this.slope = slope / sigma / readings;
    this.scatter = scatter / readings;
  }
}

/** Quadrature with position as a parabola of input about a level: no arc cosine a node. */
class ParabolaShare extends SmearedShare {
  private table: Float64Array;
  private x: f64 = 0;
  private position: f64 = 0;
  private a: f64 = 0;
  private b: f64 = 0;

  constructor(
    private grid: PositionGrid,
    private waveform: Waveform,
    private rule: Quadrature,
    private sigma: f64,
  ) {
    super();
    this.table = countTable(grid);
  }

  about(x: f64): void {
    const position = shareBelow(this.waveform, x);
    const slope = slopeAt(this.waveform, position);
    const h = 1e-5;
    const bend = (slopeAt(this.waveform, position + h) - slopeAt(this.waveform, position - h)) / (2 * h);
    this.x = x;
    this.position = position;
    this.a = 1 / slope;
    this.b = -bend / (2 * slope ** 3);
  }

  at(y: f64): void {
    const rule = this.rule;
    const readings = this.grid.readings;
    let share: f64 = 0;
    let steep: f64 = 0;
    let scatter: f64 = 0;
    const sigma = this.sigma;
    const away = y - this.x;
    const position = this.position;
    const a = this.a;
    const b = this.b;
    const table = this.table;
    const z = rule.z;
    const shares = rule.share;
    const slopes = rule.slope;
    const scatters = rule.scatter;
    if (min(shares.length, min(slopes.length, scatters.length)) < z.length) unreachable();
    for (let i = 0; i < z.length; i++) {
      const d = away - sigma * unchecked(z[i]);
      const count = tableCount(table, position + d * (a + d * b));
      share += unchecked(shares[i]) * count;
      steep -= unchecked(slopes[i]) * count;
      scatter += unchecked(scatters[i]) * count;
    }
    this.share = share / readings;
    this.slope = steep / sigma / readings;
    this.scatter = scatter / readings;
  }
}

/**
 * For readings that are spread unevenly: phases that nearly repeat leave arcs and holes, which noise smears but does not fill. The transition is where the expected
 * count, Σ Φ((T − x_n)/σ) over the record's own inputs, equals the count seen; with many readings within the noise's reach by quadrature over the running count.
 */
export class UnevenPhases {
  private summed: SummedShare;
  private parabola: ParabolaShare;
  private coarse: GridShare;
  private fine: GridShare;

  constructor(
    private grid: PositionGrid,
    private waveform: Waveform,
    private sigma: f64,
    coarse: Quadrature,
    fine: Quadrature,
  ) {
    this.summed = new SummedShare(grid, waveform, sigma);
    this.parabola = new ParabolaShare(grid, waveform, coarse, sigma);
    this.coarse = new GridShare(grid, waveform, coarse, sigma);
    this.fine = new GridShare(grid, waveform, fine, sigma);
  }

  /**
   * @param x  the uncorrected level
   * @param below  readings below the transition
   * @returns null when the readings are too far apart for the noise to join them, or the sweep does not reach the transition
   */
  freed(x: f64, below: f64): Corrected | null {
    const sigma = this.sigma;
    const grid = this.grid;
    const waveform = this.waveform;
    const counts = grid.counts;
    const from = indexAt(grid.positions, shareBelow(waveform, x - (REACH + 1) * sigma));
    const to = indexAt(grid.positions, shareBelow(waveform, x + (REACH + 1) * sigma));
    const before = from > 0 ? counts[from - 1] : 0;
    const room = min<f64>(x - waveform.lowest, waveform.highest - x);
    let smear: SmearedShare;
    if (to - from <= FEW) {
      this.summed.take(from, to, before);
      smear = this.summed;
    } else if (room > FAR * sigma) {
      this.parabola.about(x);
      smear = this.parabola;
    } else {
      smear = room < 1.5 * REACH * sigma ? this.fine : this.coarse;
    }
    smear.at(x);
    const even = (counts[min(to, counts.length - 1)] - before) / grid.readings / (2 * (REACH + 1) * sigma);
    if (smear.slope < even / 2) return null;
    const solved = solveShare(smear, below / grid.readings, waveform, x, sigma);
    return solved != null && abs<f64>(solved.x - x) < 2 * sigma ? solved : null;
  }
}
