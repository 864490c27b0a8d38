import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";

const factors = kernels.coverageFactors();
const halfWidth95 = (variance: number, uniform: number): number => kernels.halfWidth95(factors, variance, uniform);

describe("halfWidth95", () => {
  it("is 1.96 σ for a normal error and 0.95 of the half-width for a uniform one", () => {
    expect(halfWidth95(4, 0)).toBeCloseTo(2 * 1.959964, 6);
    // Uniform ±1 has variance 1/3.
    expect(halfWidth95(1 / 3, 1 / 3)).toBeCloseTo(0.95, 4);
  });
  it("one rectangle and a normal part of half its standard uncertainty: the convolution's 95 %", () => {
    // Checked by the sum of both densities, 1e-3 steps: P(|n + r| ≤ U) = 0.95 at sd 1/√12 … of a rectangle ±1 and n of sd 0.288675.
    const sd = 0.288675;
    const total = sd * sd + 1 / 3;
    const U = halfWidth95(total, 1 / 3);
    let inside = 0;
    let all = 0;
    for (let r = -0.9995; r < 1; r += 1e-3)
      for (let n = -6; n <= 6; n += 0.01) {
        const w = Math.exp(-0.5 * n * n);
        all += w;
        if (Math.abs(r + n * sd) <= U) inside += w;
      }
    expect(inside / all).toBeCloseTo(0.95, 2);
  });
  it("is nothing when nothing is uncertain", () => expect(halfWidth95(0, 0)).toBe(0));
});
