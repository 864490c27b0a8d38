import type { Lsb } from "../bench/units.ts";
import type { Waveform } from "./transitionsWaveform.ts";

/** Noise is followed this many standard deviations out. */
export const REACH = 4.8;

/** Nodes and weights of ∫F(x − σz)·w(z)dz for the smeared share, its slope, and the variance of a count. */
export interface Quadrature {
  readonly z: Float64Array;
  readonly share: Float64Array;
  readonly slope: Float64Array;
  readonly scatter: Float64Array;
}

function quadrature(step: number): Quadrature {
  const z = Float64Array.from({ length: Math.round((2 * REACH) / step) + 1 }, (_, i) => -REACH + i * step);
  const density = z.map((x) => Math.exp(-0.5 * x * x));
  const sum = density.reduce((a, b) => a + b, 0);
  const share = density.map((d) => d / sum);
  // Running Φ by the same rule, so that the three sums agree with each other.
  let before = 0;
  const scatter = share.map((w) => {
    const cdf = before + w / 2;
    before += w;
    return w * (1 - 2 * cdf);
  });
  return { z, share, slope: share.map((w, i) => w * z[i]!), scatter };
}

/** A smooth share needs no more; */
export const COARSE = quadrature(0.4);
/** the root at a sine's turning point, and a ramp's end, do: a thousandth of σ is left. */
const FINE = quadrature(0.1);

/** A share of readings as noise smears it. All per reading of the sweep. */
export interface Smeared {
  /** Expected share of readings below x. */
  readonly share: number;
  /** Its slope, per LSB. */
  readonly slope: number;
  /** Variance of the count below x, per reading. */
  readonly scatter: number;
}

/**
 * What Gaussian noise makes of the share of readings that lie below x.
 * @param below  that share without noise
 * @param fine   near the ends of the sweep
 */
export function smeared(below: (x: Lsb) => number, x: Lsb, sigma: Lsb, fine = true): Smeared {
  const rule = fine ? FINE : COARSE;
  let share = 0;
  let slope = 0;
  let scatter = 0;
  for (let i = 0; i < rule.z.length; i++) {
    const part = below(x - sigma * rule.z[i]!);
    share += rule.share[i]! * part;
    slope -= rule.slope[i]! * part;
    scatter += rule.scatter[i]! * part;
  }
  return { share, slope: slope / sigma, scatter };
}

/** A transition level freed of what noise does near the ends of the sweep. */
export interface Corrected {
  readonly x: Lsb;
  /** Standard uncertainty of one count's worth: √(Var count)/slope for a single reading; divide by √readings. Null far from the ends. */
  readonly perRootReading: number | null;
}

/** Beyond this many σ from an end the closed form is good to 1e-4 of σ. */
const NEAR = 12;

/**
 * The input whose smeared share equals the share seen. Noise moves counts where the waveform's density changes: by −σ²/2·(ln density)′ to first
 * order, much at the ends of a sine or of a ramp that just covers the range.
 * @param x  the input at which a noise-free sweep would have had this share; LSB
 * @returns null when no input within the sweep gives this share: the stimulus does not reach the transition
 * Source: the bias is Blair's ("Histogram measurement of ADC nonlinearities using sine waves", IEEE T-IM 43(3), 1994), who keeps it small by overdrive; here it is taken out.
 */
export function freedOfNoise(waveform: Waveform, x: Lsb, sigma: Lsb, sine: boolean): Corrected | null {
  const { lowest, highest } = waveform;
  if (!(sigma > 0)) return { x, perRootReading: null };
  const room = Math.min(x - lowest, highest - x);
  if (room > NEAR * sigma) {
    if (!sine) return { x, perRootReading: null };
    const centre = (lowest + highest) / 2;
    const amplitude = (highest - lowest) / 2;
    const u = x - centre;
    return { x: x - (sigma * sigma * u) / (2 * (amplitude * amplitude - u * u)), perRootReading: null };
  }
  const fine = room < 1.5 * REACH * sigma;
  return solveShare((y) => smeared(waveform.below, y, sigma, fine), waveform.below(x), waveform, x, sigma);
}

/**
 * Where a rising smeared share takes the wanted value, by Newton's steps kept inside the sweep.
 * @returns null when the sweep ends before
 */
export function solveShare(
  smear: (x: Lsb) => Smeared,
  wanted: number,
  { lowest, highest }: Waveform,
  start: Lsb,
  sigma: Lsb,
): Corrected | null {
  let low = lowest;
  let high = highest;
  if (start - lowest < REACH * sigma && smear(low).share > wanted) return null;
  if (highest - start < REACH * sigma && smear(high).share < wanted) return null;
  let y = Math.min(high, Math.max(low, start));
  let at = smear(y);
  for (let step = 0; step < 40; step++) {
    if (Math.abs(at.share - wanted) < 2e-4 * sigma * at.slope) break;
    if (at.share < wanted) low = y;
    else high = y;
    const newton = y - (at.share - wanted) / at.slope;
    const next = newton >= low && newton <= high ? newton : (low + high) / 2;
    y = next;
    at = smear(y);
  }
  if (!(at.slope > 0)) return null;
  return { x: y, perRootReading: Math.sqrt(Math.max(0, at.scatter)) / at.slope };
}
