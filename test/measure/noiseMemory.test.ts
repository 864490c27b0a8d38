import { describe, expect, it } from "vitest";
import { inflationOf, noiseMemory } from "../../lib/measure/noiseMemory.ts";
import { seededRandom } from "../../lib/signal/random.ts";

/** Gaussian noise of unit rms whose neighbours correlate by rho, with a known mean of 0 and no slope. */
function series(M: number, rho: number, seed: number): Float64Array {
  const random = seededRandom(seed);
  let e = random.normal();
  return Float64Array.from({ length: M }, () => {
    const now = e;
    e = rho * e + Math.sqrt(1 - rho * rho) * random.normal();
    return now;
  });
}

const mean = (y: Float64Array): number => y.reduce((s, x) => s + x, 0) / y.length;

describe("noiseMemory", () => {
  it.each([
    [60, 0.7],
    [300, 0.9],
    [60, 0.95],
  ])("the mean of %i readings correlated by %f lies within its half-width", (M, rho) => {
    const trials = 120;
    let held = 0;
    for (let i = 0; i < trials; i++) {
      const y = series(M, rho, 100 + i);
      if (Math.abs(mean(y)) <= noiseMemory(y).mean) held++;
    }
    // 95 % of 120 is 114; fewer than 106 come up once in about 4000 (binomial).
    expect(held).toBeGreaterThanOrEqual(106);
  });
  it("a memory that is short beside the record is known, so that the half-width is near theory's", () => {
    let ratio = 0;
    // Var of the mean (1 + ρ)/(1 − ρ)/M: ±1.96·√(5.67/1000).
    for (let i = 0; i < 12; i++)
      ratio += noiseMemory(series(1000, 0.7, i)).mean / (1.96 * Math.sqrt(5.667 / 1000)) / 12;
    // Its length is known to about 10 %, and not knowing it costs something, at most half as much again.
    expect(ratio).toBeGreaterThan(0.95);
    expect(ratio).toBeLessThan(1.5);
  });
  it("a variance of few independent readings has few degrees of freedom", () => {
    // M·(1 − ρ²)/(1 + ρ²): 15 and 342; the interval's upper end counts what is not known of the memory, too.
    expect(noiseMemory(series(300, 0.95, 3)).varianceDof).toBeLessThan(20);
    expect(noiseMemory(series(1000, 0.7, 3)).varianceDof).toBeGreaterThan(100);
  });
  it("inflation is what turns independent readings' half-width into the one given", () => {
    // 100 readings of unit variance: ±0.196; twice that is worth a quarter of the readings.
    expect(inflationOf(0.392, 1, 100)).toBeCloseTo(4, 2);
    expect(inflationOf(0.01, 1, 100)).toBe(1);
  });
});
