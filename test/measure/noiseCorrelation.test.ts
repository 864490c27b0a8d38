import { describe, expect, it } from "vitest";
import { noiseCorrelation } from "../../lib/measure/noiseCorrelation.ts";
import { seededRandom } from "../../lib/signal/random.ts";

function correlated(readings: number, rho: number, seed: number): Int32Array {
  const random = seededRandom(seed);
  const codes = new Int32Array(readings);
  let e = random.normal();
  for (let n = 0; n < readings; n++) {
    if (n > 0) e = rho * e + Math.sqrt(1 - rho * rho) * random.normal();
    codes[n] = Math.round(1000 + 5 * e);
  }
  return codes;
}

const of = (codes: Int32Array) =>
  noiseCorrelation(codes, [[0, codes.length - 1]], codes.reduce((s, c) => s + c, 0) / codes.length, 0);

describe("noiseCorrelation", () => {
  it("leaves independent readings alone in nearly every record", () => {
    let inflated = 0;
    for (let seed = 1; seed <= 100; seed++) if (of(correlated(2000, 0, seed)).meanInflation > 1) inflated++;
    // Lag one alone exceeds 2.2 standard deviations in 1.4 % of records, the dozen block lengths together in a few per cent.
    expect(inflated).toBeLessThan(15);
  });
  it("finds what an AR(1) of known correlation costs the mean and the variance", () => {
    for (const rho of [0.5, 0.9]) {
      const { meanInflation, varianceInflation, lagOne } = of(correlated(100_000, rho, 3));
      // Closed forms (1 + ρ)/(1 − ρ) and (1 + ρ²)/(1 − ρ²); blocks of such a record tell them to some 10 to 20 %.
      expect(lagOne).toBeCloseTo(rho, 1);
      expect(meanInflation / ((1 + rho) / (1 - rho))).toBeGreaterThan(0.8);
      expect(meanInflation / ((1 + rho) / (1 - rho))).toBeLessThan(1.35);
      expect(varianceInflation / ((1 + rho * rho) / (1 - rho * rho))).toBeGreaterThan(0.75);
      expect(varianceInflation / ((1 + rho * rho) / (1 - rho * rho))).toBeLessThan(1.4);
    }
  });
  it("one code only varies not at all", () => {
    expect(of(new Int32Array(100).fill(5))).toMatchObject({
      variance: 0,
      lagOne: 0,
      meanInflation: 1,
      varianceInflation: 1,
    });
  });
  it("the excess of Gaussian readings is two", () => {
    // Its standard deviation is √(24/M) = 0.015 at 100 000 readings.
    expect(Math.abs(of(correlated(100_000, 0, 5)).excess - 2)).toBeLessThan(0.06);
  });
});
