import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  betaCdf,
  betaQuantile,
  binomialCdf,
  binomialPmf,
  c4,
  chiSquareCdf,
  chiSquareQuantile,
  clopperPearson,
  fQuantile,
  garwood,
  normalCdf,
  normalPdf,
  normalQuantile,
  tCdf,
  tQuantile,
  wilson,
} from "../../lib/signal/distributions.ts";

const share = fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true });
const dof = fc.double({ min: 0.5, max: 1e6, noNaN: true });

// Published values are in test/external/distributions.test.ts; here: inverses, identities, ends.
describe("distributions", () => {
  it("quantiles undo distribution functions", () => {
    fc.assert(
      fc.property(share, dof, (p, nu) => {
        expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 12);
        expect(tCdf(tQuantile(p, nu), nu)).toBeCloseTo(p, 10);
        expect(chiSquareCdf(chiSquareQuantile(p, nu), nu)).toBeCloseTo(p, 9);
      }),
      { numRuns: 100 },
    );
  });
  it("beta quantiles undo the beta distribution, lopsided shapes included (not below 1, where its slope has no end)", () => {
    fc.assert(
      fc.property(
        share,
        fc.double({ min: 1, max: 5000, noNaN: true }),
        fc.double({ min: 1, max: 5000, noNaN: true }),
        (p, a, b) => {
          expect(betaCdf(betaQuantile(p, a, b), a, b)).toBeCloseTo(p, 8);
        },
      ),
      { numRuns: 100 },
    );
  });
  it("t with one degree of freedom is Cauchy, with very many it is normal", () => {
    for (const p of [0.01, 0.3, 0.9, 0.999]) {
      // Closed form of the Cauchy quantile.
      expect(tQuantile(p, 1)).toBeCloseTo(Math.tan(Math.PI * (p - 0.5)), 8);
      expect(tQuantile(p, 1e13)).toBe(normalQuantile(p));
      expect(Math.abs(tQuantile(p, 1e9) - normalQuantile(p))).toBeLessThan(1e-7);
    }
  });
  it("chi-square with two degrees of freedom is exponential", () => {
    for (const p of [1e-250, 1e-9, 0.2, 0.5, 0.99])
      expect(chiSquareQuantile(p, 2) / (-2 * Math.log1p(-p))).toBeCloseTo(1, 12);
  });
  it("chi-square with one degree of freedom is the square of a normal: πp²/2 near zero", () => {
    for (const p of [1e-100, 1e-30, 1e-8]) expect(chiSquareQuantile(p, 1) / ((Math.PI * p * p) / 2)).toBeCloseTo(1, 10);
  });
  it("F is the square of t, for one degree of freedom above", () => {
    expect(fQuantile(0.95, 1, 10)).toBeCloseTo(tQuantile(0.975, 10) ** 2, 9);
  });
  it("the normal density integrates to the distribution function", () => {
    // Simpson's rule over −6…1.3 with 2000 steps: error far below 1e-12.
    const n = 2000;
    const h = 7.3 / n;
    let sum = 0;
    for (let i = 0; i <= n; i++) sum += normalPdf(-6 + i * h) * (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2);
    expect((sum * h) / 3 + normalCdf(-6)).toBeCloseTo(normalCdf(1.3), 12);
  });
  it("far tails keep their digits", () => {
    // Mills' ratio: Φ(−x) lies between φ(x)·x/(x² + 1) and φ(x)/x.
    for (const x of [3.4, 3.6, 7, 10, 30]) {
      expect(normalCdf(-x)).toBeLessThan(normalPdf(x) / x);
      expect(normalCdf(-x)).toBeGreaterThan((normalPdf(x) * x) / (x * x + 1));
    }
    expect(normalCdf(-40)).toBe(0);
    expect(normalCdf(40)).toBe(1);
  });
  it("binomial probabilities add up to the distribution function", () => {
    let sum = 0;
    for (let k = 0; k <= 7; k++) sum += binomialPmf(k, 23, 0.37);
    expect(binomialCdf(7, 23, 0.37)).toBeCloseTo(sum, 12);
    expect(binomialCdf(-1, 5, 0.5)).toBe(0);
    expect(binomialCdf(5, 5, 0.5)).toBe(1);
    expect(binomialPmf(6, 5, 0.5)).toBe(0);
  });
  it("intervals for no event and for all events are one-sided", () => {
    expect(clopperPearson(0, 10)[0]).toBe(0);
    expect(clopperPearson(10, 10)[1]).toBe(1);
    // Closed form: 1 − 0.025^(1/n).
    expect(clopperPearson(0, 10)[1]).toBeCloseTo(1 - 0.025 ** 0.1, 12);
    expect(garwood(0)[0]).toBe(0);
    expect(garwood(0)[1]).toBeCloseTo(-Math.log(0.025), 12);
    expect(wilson(0, 10)[0]).toBe(0);
  });
  it("c4 of two and of very many readings", () => {
    expect(c4(2)).toBeCloseTo(Math.sqrt(2 / Math.PI), 14);
    // Series 1 − 1/(4n) − 7/(32n²) − …; the next term is below 1e-17 here.
    expect(c4(1e6)).toBeCloseTo(1 - 1 / 4e6 - 7 / 32e12, 14);
  });
  it("the ends and what is not a share", () => {
    expect(normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(normalQuantile(1)).toBe(Number.POSITIVE_INFINITY);
    expect(chiSquareQuantile(0, 3)).toBe(0);
    expect(chiSquareQuantile(1, 3)).toBe(Number.POSITIVE_INFINITY);
    for (const bad of [-0.1, 1.1, Number.NaN]) {
      expect(() => normalQuantile(bad)).toThrow(RangeError);
      expect(() => tQuantile(bad, 3)).toThrow(RangeError);
      expect(() => chiSquareQuantile(bad, 3)).toThrow(RangeError);
    }
    expect(() => tQuantile(0.5, 0)).toThrow(/degrees of freedom/);
    expect(() => c4(1)).toThrow(/two readings/);
  });
});
