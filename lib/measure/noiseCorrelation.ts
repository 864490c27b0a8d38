import type { Stretch } from "../capture/record.ts";
import { inflationOf, noiseMemory } from "./noiseMemory.ts";
import { fixedQuantisation } from "./noiseQuantisation.ts";

/** How readings of a steady record vary about their drift line, and how far neighbours vary together. */
export interface NoiseCorrelation {
  /** Σe²/M, e the departure of a code from the drift line. */
  readonly variance: number;
  /** Autocorrelation of neighbouring readings, −1…1; 0 when nothing varies. */
  readonly lagOne: number;
  /** By what the variance of the mean exceeds that of independent readings, ≥ 1; M over this many readings are worth as much as independent ones. */
  readonly meanInflation: number;
  /** The same for the slope. */
  readonly slopeInflation: number;
  /** The same for the variance. */
  readonly varianceInflation: number;
  /** Degrees of freedom of the scatter that meanInflation rests on. */
  readonly meanDof: number;
  /** Variance of e², over the square of variance: 2 for Gaussian noise, more for spikes, less for a few codes. */
  readonly excess: number;
}

/** Running sums of block means at block lengths 1, 2, 4, …: the variance of the mean shows at which length neighbours stop helping each other. */
class Blocking {
  private readonly half: number[] = [];
  private readonly pending: boolean[] = [];
  readonly squares: number[] = [];
  readonly blocks: number[] = [];

  add(x: number): void {
    let value = x;
    for (let level = 0; ; level++) {
      if (level === this.squares.length) {
        this.half.push(0);
        this.pending.push(false);
        this.squares.push(0);
        this.blocks.push(0);
      }
      this.squares[level]! += value * value;
      this.blocks[level]!++;
      if (!this.pending[level]) {
        this.pending[level] = true;
        this.half[level] = value;
        return;
      }
      this.pending[level] = false;
      value = (value + this.half[level]!) / 2;
    }
  }

  /**
   * Variance of the mean against that of independent readings. Source: Flyvbjerg and Petersen, "Error estimates on averages of correlated data",
   * J. Chem. Phys. 91, 1989. A level counts only when it stands out of its own scatter, so that white noise is left at 1.
   * @param mean  of what was added; the squares are about it
   */
  inflation(mean: number): { factor: number; dof: number } {
    const variance = (level: number): number => {
      const n = this.blocks[level]!;
      return Math.max(0, this.squares[level]! / n - mean * mean) / (n - 1);
    };
    const white = variance(0);
    if (!(white > 0)) return { factor: 1, dof: Math.max(1, this.blocks[0]! - 1) };
    let chosen = 0;
    for (let level = 1; level < this.squares.length && this.blocks[level]! >= 12; level++) {
      const scatter = Math.sqrt(2 / (this.blocks[level]! - 1));
      // A rise over the level chosen so far by more than its scatter explains; the first rise has to be plainer, for it says that there is any correlation.
      if (variance(level) > variance(chosen) * (1 + (chosen === 0 ? 2.6 : 1) * scatter)) chosen = level;
    }
    return { factor: Math.max(1, variance(chosen) / white), dof: Math.max(1, this.blocks[chosen]! - 1) };
  }
}

/** Readings that the likelihood of a memory is worked out from. */
const LONGEST_SERIES = 1500;
/** Thinning a record out costs little where the memory spans several of the readings that are left. */
const WORTH_THINNING = 4;

const GROUP = 8;
const FEWEST_GROUPS = 24;

/** Readings of a long record beyond which only every so many-th block of neighbours is looked at. */
const ENOUGH = 1 << 22;

/**
 * Scatter and correlation of a steady record about a straight line. A record longer than some four million readings is judged by a stretch of that length
 * at its beginning, for correlation, and whole for its variance.
 * @param mean, slope  the line: mean + slope·(n − n̄), readings of the stretches numbered through
 * @param periodic     what a periodic component adds to reading n; it is no noise
 */
export function noiseCorrelation(
  codes: Int32Array,
  stretches: readonly Stretch[],
  mean: number,
  slope: number,
  periodic: ((n: number) => number) | null = null,
): NoiseCorrelation {
  const readings = stretches.reduce((sum, [first, last]) => sum + last - first + 1, 0);
  const middle = (readings - 1) / 2;
  const own = new Blocking();
  const squared = new Blocking();
  let sum2 = 0;
  let sum4 = 0;
  let together = 0;
  let seen = 0;
  let sumSeen = 0;
  let squaresSeen = 0;
  let at = 0;
  for (const [first, last] of stretches) {
    let before = 0;
    for (let n = first; n <= last; n++, at++) {
      const e = codes[n]! - mean - slope * (at - middle) - (periodic === null ? 0 : periodic(n));
      const e2 = e * e;
      sum2 += e2;
      sum4 += e2 * e2;
      if (seen < ENOUGH) {
        own.add(e);
        squared.add(e2);
        if (n > first) together += e * before;
        before = e;
        sumSeen += e;
        squaresSeen += e2;
        seen++;
      }
    }
  }
  const variance = sum2 / readings;
  const lagOne = squaresSeen > 0 ? together / squaresSeen : 0;
  const byBlocks = own.inflation(sumSeen / seen);
  const squaredByBlocks = squared.inflation(squaresSeen / seen);
  // Neighbours alone show a short correlation sooner than blocks do: an AR(1) of that correlation.
  // Taking out a line makes a short record's correlation come out small, by (2 + 4ρ)/M (Kendall and Stuart, from memory).
  const rho = lagOne > 2.2 / Math.sqrt(seen) ? Math.min(0.999, lagOne + (2 + 4 * lagOne) / seen) : 0;
  const meanByLag = (1 + rho) / (1 - rho);
  const varianceByLag = (1 + rho * rho) / (1 - rho * rho);
  const meanInflation = Math.max(byBlocks.factor, meanByLag);
  const found = {
    variance,
    lagOne,
    meanInflation,
    slopeInflation: meanInflation,
    varianceInflation: Math.max(squaredByBlocks.factor, varianceByLag),
    meanDof: meanInflation > byBlocks.factor ? Math.max(1, readings / meanInflation - 1) : byBlocks.dof,
    excess: variance > 0 ? sum4 / readings / variance ** 2 - 1 : 2,
  };
  // A long record's memory is short beside it and known well enough; every so many-th reading shows one that is not.
  const apart = Math.ceil(readings / LONGEST_SERIES);
  if (readings < 16 || !(variance > 0) || !(meanInflation > (apart === 1 ? 1 : WORTH_THINNING * apart))) return found;
  // An input that drifts through quiet codes leaves the quantiser's sawtooth about its line, which is no memory.
  const sawtooth = fixedQuantisation(Math.sqrt(Math.max(0, variance - 1 / 12)));
  if (Math.abs(slope) * readings > 1.5 && sawtooth > 0.1 * variance) return found;
  const thinned = new Float64Array(Math.floor((readings - 1) / apart) + 1);
  let taken = 0;
  at = 0;
  for (const [first, last] of stretches)
    for (let n = first; n <= last; n++, at++)
      if (at % apart === 0) thinned[taken++] = codes[n]! - (periodic === null ? 0 : periodic(n));
  const memory = noiseMemory(thinned);
  // Codes that flicker between two neighbours hide a slower memory behind them; means of some readings show it.
  const isHidden = byBlocks.factor > 2 * meanByLag && thinned.length >= GROUP * FEWEST_GROUPS;
  const smooth = isHidden ? noiseMemory(groupMeans(thinned)) : null;
  const meanHalf = Math.max(memory.mean, smooth?.mean ?? 0);
  const slopeHalf = Math.max(memory.slope, (smooth?.slope ?? 0) / GROUP) / apart;
  const spread = Math.max(0.2, found.excess);
  return {
    ...found,
    meanInflation: Math.max(meanInflation, inflationOf(meanHalf, variance, readings)),
    slopeInflation: Math.max(
      meanInflation,
      inflationOf(slopeHalf * Math.sqrt((readings * readings - 1) / 12), variance, readings),
    ),
    varianceInflation: Math.max(found.varianceInflation, readings / (1 + (memory.varianceDof * spread) / 2)),
    // The half-widths already hold what is not known of the memory.
    meanDof: readings,
  };
}

function groupMeans(series: Float64Array): Float64Array {
  const means = new Float64Array(Math.floor(series.length / GROUP));
  for (let i = 0; i < means.length; i++) for (let j = 0; j < GROUP; j++) means[i]! += series[GROUP * i + j]! / GROUP;
  return means;
}
