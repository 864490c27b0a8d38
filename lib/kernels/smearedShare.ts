import { shareBelow, Waveform } from "./waveform";

/** Noise is followed this many standard deviations out. */
export const REACH: f64 = 4.8;

/** Nodes and weights of ∫F(x − σz)·w(z)dz for the smeared share, its slope, and the variance of a count. */
export class Quadrature {
  z: Float64Array;
  share: Float64Array;
  slope: Float64Array;
  scatter: Float64Array;

  constructor(step: f64) {
    const count = <i32>Math.round((2 * REACH) / step) + 1;
    const z = new Float64Array(count);
    const share = new Float64Array(count);
    const slope = new Float64Array(count);
    const scatter = new Float64Array(count);
    let sum: f64 = 0;
    for (let i = 0; i < count; i++) {
      z[i] = -REACH + i * step;
      share[i] = Math.exp(-0.5 * z[i] * z[i]);
      sum += share[i];
    }
    // Running Φ by the same rule, so that the three sums agree with each other.
    let before: f64 = 0;
    for (let i = 0; i < count; i++) {
      const w = share[i] / sum;
      share[i] = w;
      slope[i] = w * z[i];
      scatter[i] = w * (1 - 2 * (before + w / 2));
      before += w;
    }
    this.z = z;
    this.share = share;
    this.slope = slope;
    this.scatter = scatter;
  }
}

/** A smooth share needs no more; */
export const COARSE: f64 = 0.4;
/** the root at a sine's turning point, and a ramp's end, do: a thousandth of σ is left. */
export const FINE: f64 = 0.1;

/** What Gaussian noise makes of the share of readings that lie below x. All per reading of the sweep. */
export abstract class SmearedShare {
  /** Expected share of readings below x. */
  share: f64 = 0;
  /** Its slope, per LSB. */
  slope: f64 = 0;
  /** Variance of the count below x, per reading. */
  scatter: f64 = 0;

  abstract at(x: f64): void;
}

/** From the share without noise, by quadrature. */
export abstract class QuadratureShare extends SmearedShare {
  constructor(
    private rule: Quadrature,
    private sigma: f64,
  ) {
    super();
  }

  /** The share without noise. */
  abstract below(x: f64): f64;

  at(x: f64): void {
    const rule = this.rule;
    const sigma = this.sigma;
    const z = rule.z;
    const shares = rule.share;
    const slopes = rule.slope;
    const scatters = rule.scatter;
    if (min(shares.length, min(slopes.length, scatters.length)) < z.length) unreachable();
    let share: f64 = 0;
    let slope: f64 = 0;
    let scatter: f64 = 0;
    for (let i = 0; i < z.length; i++) {
      const part = this.below(x - sigma * unchecked(z[i]));
      share += unchecked(shares[i]) * part;
      slope -= unchecked(slopes[i]) * part;
      scatter += unchecked(scatters[i]) * part;
    }
    this.share = share;
    this.slope = slope / sigma;
    this.scatter = scatter;
  }
}

/** Of a sweep whose readings are spread evenly. */
export class WaveformShare extends QuadratureShare {
  constructor(
    private waveform: Waveform,
    rule: Quadrature,
    sigma: f64,
  ) {
    super(rule, sigma);
  }

  below(x: f64): f64 {
    return shareBelow(this.waveform, x);
  }
}

/** A transition level freed of what noise does near the ends of the sweep. */
export class Corrected {
  x: f64 = 0;
  /** Standard uncertainty of one count's worth: √(Var count)/slope for a single reading; divide by √readings. NaN far from the ends. */
  perRootReading: f64 = NaN;
}

/** Beyond this many σ from an end the closed form is good to 1e-4 of σ. */
const NEAR: f64 = 12;

/** Takes the noise's part out of transition levels, one after the other. */
export class Freeing {
  private coarse: WaveformShare;
  private fine: WaveformShare;

  constructor(
    private waveform: Waveform,
    private sigma: f64,
    coarse: Quadrature,
    fine: Quadrature,
  ) {
    this.coarse = new WaveformShare(waveform, coarse, sigma);
    this.fine = new WaveformShare(waveform, fine, sigma);
  }

  /** @returns null when no input within the sweep gives this share: the stimulus does not reach the transition */
  freed(x: f64, sine: bool): Corrected | null {
    const sigma = this.sigma;
    const lowest = this.waveform.lowest;
    const highest = this.waveform.highest;
    if (!(sigma > 0)) return { x, perRootReading: NaN };
    const room = min<f64>(x - lowest, highest - x);
    if (room > NEAR * sigma) {
      if (!sine) return { x, perRootReading: NaN };
      const centre = (lowest + highest) / 2;
      const amplitude = (highest - lowest) / 2;
      const u = x - centre;
      return { x: x - (sigma * sigma * u) / (2 * (amplitude * amplitude - u * u)), perRootReading: NaN };
    }
    const smear = room < 1.5 * REACH * sigma ? this.fine : this.coarse;
    return solveShare(smear, shareBelow(this.waveform, x), this.waveform, x, sigma);
  }
}

/**
 * Where a rising smeared share takes the wanted value, by Newton's steps kept inside the sweep.
 * @returns null when the sweep ends before
 */
export function solveShare(
  smear: SmearedShare,
  wanted: f64,
  waveform: Waveform,
  start: f64,
  sigma: f64,
): Corrected | null {
  let low = waveform.lowest;
  let high = waveform.highest;
  if (start - low < REACH * sigma) {
    smear.at(low);
    if (smear.share > wanted) return null;
  }
  if (high - start < REACH * sigma) {
    smear.at(high);
    if (smear.share < wanted) return null;
  }
  let y = min<f64>(high, max<f64>(low, start));
  smear.at(y);
  for (let step = 0; step < 40; step++) {
    if (abs<f64>(smear.share - wanted) < 2e-4 * sigma * smear.slope) break;
    if (smear.share < wanted) low = y;
    else high = y;
    const newton = y - (smear.share - wanted) / smear.slope;
    y = newton >= low && newton <= high ? newton : (low + high) / 2;
    smear.at(y);
  }
  if (!(smear.slope > 0)) return null;
  return { x: y, perRootReading: sqrt<f64>(max<f64>(0, smear.scatter)) / smear.slope };
}

/** The share of an evenly spread sweep that noise leaves below x. */
export class Smeared {
  share: f64 = 0;
  slope: f64 = 0;
  scatter: f64 = 0;
}

export function smearedWaveform(waveform: Waveform, x: f64, sigma: f64): Smeared {
  const smear = new WaveformShare(waveform, new Quadrature(FINE), sigma);
  smear.at(x);
  return { share: smear.share, slope: smear.slope, scatter: smear.scatter };
}

/** One level by itself: see freedOfNoise in lib/measure/transitionsEdge.ts. */
export function freedOfNoise(waveform: Waveform, x: f64, sigma: f64, sine: bool): Corrected | null {
  return new Freeing(waveform, sigma, new Quadrature(COARSE), new Quadrature(FINE)).freed(x, sine);
}
