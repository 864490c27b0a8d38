import { Z95 } from "../judge/coverage.ts";
import { tQuantile } from "../signal/distributions.ts";

/** A straight line's rise for each step, with its 95 % half-width. */
export interface Slope {
  readonly perStep: number;
  readonly uncertainty: number;
  /** Scatter about the line against what the figures' own uncertainties explain; above 1 the points scatter more than they should. */
  readonly scatter: number;
  readonly points: number;
}

/**
 * Weighted least-squares slope over points with known standard uncertainties. Where the points scatter about the line more than their
 * uncertainties explain, the uncertainty grows by that ratio, and by Student's t for the few points that it rests on.
 * @param x         positions, not all equal
 * @param standard  standard uncertainty of each y, > 0
 * @returns null for fewer than three points
 * Source: Birge, "The calculation of errors by the method of least squares", Phys. Rev. 40, 1932, p. 207.
 * @example weightedSlope([0, 1, 2], [1, 2, 3], [0.1, 0.1, 0.1]) // perStep 1, uncertainty 1.96·0.1/√2
 */
export function weightedSlope(x: readonly number[], y: readonly number[], standard: readonly number[]): Slope | null {
  const n = x.length;
  if (n < 3 || standard.some((u) => !(u > 0))) return null;
  const w = standard.map((u) => 1 / (u * u));
  const W = w.reduce((s, v) => s + v, 0);
  const mean = (v: readonly number[]): number => v.reduce((s, vi, i) => s + w[i]! * vi, 0) / W;
  const mx = mean(x);
  const my = mean(y);
  const sxx = x.reduce((s, v, i) => s + w[i]! * (v - mx) ** 2, 0);
  if (!(sxx > 0)) return null;
  const perStep = x.reduce((s, v, i) => s + w[i]! * (v - mx) * (y[i]! - my), 0) / sxx;
  const chi2 = x.reduce((s, v, i) => s + w[i]! * (y[i]! - my - perStep * (v - mx)) ** 2, 0);
  const scatter = Math.sqrt(chi2 / (n - 2));
  // A scatter smaller than the uncertainties is luck and does not make the slope better known.
  const factor = scatter > 1 ? scatter * tQuantile(0.975, n - 2) : Z95;
  return { perStep, uncertainty: Math.max(factor, Z95) / Math.sqrt(sxx), scatter, points: n };
}
