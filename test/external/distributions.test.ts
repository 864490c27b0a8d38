import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import {
  binomialCdf,
  binomialPmf,
  c4,
  chiSquareCdf,
  chiSquareQuantile,
  clopperPearson,
  fQuantile,
  garwood,
  normalCdf,
  normalQuantile,
  standardDeviationFactors,
  tCdf,
  tQuantile,
  wilson,
} from "../../lib/signal/distributions.ts";

/**
 * Reference vectors made with scipy.stats 1.17.1 (numpy 2.4.6), quantiles.json: quantiles, intervals and cdf values.
 * Tolerance 1e-9 relative throughout: the file's own, far above double rounding and far below anything an interval shows.
 */
const reference = JSON.parse(readFileSync(new URL("./data/quantiles.json", import.meta.url), "utf8"));
const RELATIVE = 1e-9;

function expectClose(got: number, want: number, what: string): void {
  const error = want === 0 ? Math.abs(got) : Math.abs(got / want - 1);
  expect(error, `${what}: got ${got}, expected ${want}`).toBeLessThan(RELATIVE);
}

describe("distributions against scipy.stats", () => {
  it("normal quantiles", () => {
    reference.p.forEach((p: number, i: number) => {
      expectClose(normalQuantile(p), reference.normal[i], `normal ${p}`);
    });
  });
  it("normal distribution function, both tails", () => {
    for (const { z, cdf, sf } of reference.normal_cdf) {
      expectClose(normalCdf(z), cdf, `Φ(${z})`);
      expectClose(normalCdf(-z), sf, `Φ(−${z})`);
    }
  });
  it("Student's t quantiles for 1 to 1000 degrees of freedom", () => {
    for (const dof of Object.keys(reference.t))
      reference.p.forEach((p: number, i: number) => {
        expectClose(tQuantile(p, Number(dof)), reference.t[dof][i], `t ${p}, ${dof} dof`);
      });
  });
  it("chi-square quantiles for 1 to 4095 degrees of freedom", () => {
    for (const dof of Object.keys(reference.chi2))
      reference.p.forEach((p: number, i: number) => {
        expectClose(chiSquareQuantile(p, Number(dof)), reference.chi2[dof][i], `χ² ${p}, ${dof} dof`);
      });
  });
  it("F quantiles", () => {
    for (const { d1, d2, p95, p975 } of reference.F) {
      expectClose(fQuantile(0.95, d1, d2), p95, `F(${d1}, ${d2})`);
      expectClose(fQuantile(0.975, d1, d2), p975, `F(${d1}, ${d2})`);
    }
  });
  it("Garwood, Clopper-Pearson and Wilson intervals", () => {
    for (const { k, lo, hi } of reference.poisson_garwood95) {
      const [low, high] = garwood(k);
      expectClose(low, lo, `Garwood ${k} low`);
      expectClose(high, hi, `Garwood ${k} high`);
    }
    for (const { k, n, lo, hi } of reference.clopper_pearson95) {
      const [low, high] = clopperPearson(k, n);
      expectClose(low, lo, `Clopper-Pearson ${k}/${n} low`);
      expectClose(high, hi, `Clopper-Pearson ${k}/${n} high`);
    }
    for (const { k, n, lo, hi } of reference.wilson95) {
      const [low, high] = wilson(k, n);
      expectClose(low, lo, `Wilson ${k}/${n} low`);
      expectClose(high, hi, `Wilson ${k}/${n} high`);
    }
  });
  it("binomial distribution", () => {
    for (const { n, p, k, cdf, pmf } of reference.binomial_cdf) {
      expectClose(binomialCdf(k, n, p), cdf, `B(${n}, ${p}) ≤ ${k}`);
      expectClose(binomialPmf(k, n, p), pmf, `B(${n}, ${p}) = ${k}`);
    }
  });
  it("factors of a standard deviation's interval, and c4", () => {
    for (const n of Object.keys(reference.sd_ci_factors95)) {
      const [low, high] = standardDeviationFactors(Number(n) - 1);
      expectClose(low, reference.sd_ci_factors95[n][0], `factor low, n ${n}`);
      expectClose(high, reference.sd_ci_factors95[n][1], `factor high, n ${n}`);
    }
    for (const n of Object.keys(reference.c4)) expectClose(c4(Number(n)), reference.c4[n], `c4(${n})`);
  });
});

/** Tolerances: half a unit of the last printed digit. */
describe("published statistics", () => {
  it("interval factors of a standard deviation (Boost.Math documentation, 'Confidence intervals on the standard deviation', table)", () => {
    const published: [number, number, number, number][] = [
      [2, 0.44615, 31.91016, 5],
      [5, 0.59913, 2.87356, 5],
      [10, 0.68784, 1.82561, 5],
      [20, 0.7605, 1.4606, 4],
      [30, 0.79641, 1.34432, 5],
      [50, 0.8353, 1.2461, 4],
      [100, 0.87801, 1.16168, 5],
      [1000, 0.95801, 1.04587, 5],
      [10000, 0.9863, 1.0141, 4],
    ];
    for (const [n, low, high, digits] of published) {
      const [a, b] = standardDeviationFactors(n - 1);
      // 31.91016 is printed to five places of a number whose sixth is open: half a unit of the fifth.
      expect(a).toBeCloseTo(low, digits);
      expect(b).toBeCloseTo(high, digits);
    }
  });
  it("gear data: interval of σ at 50, 90, 95, 99 % (NIST/SEMATECH e-Handbook, gear diameters, 1.3.5.8; values via the Boost.Math documentation)", () => {
    const s = 0.006278908;
    const published: [number, number, number][] = [
      [0.5, 0.00601, 0.00662],
      [0.9, 0.00563, 0.00712],
      [0.95, 0.00551, 0.00729],
      [0.99, 0.0053, 0.00766],
    ];
    for (const [level, low, high] of published) {
      const [a, b] = standardDeviationFactors(99, level);
      expect(s * a).toBeCloseTo(low, 5);
      expect(s * b).toBeCloseTo(high, 5);
    }
    // Test of σ = 0.1: statistic (n − 1)s²/σ0² against χ² at 2.5 and 97.5 %.
    expect((99 * s * s) / 0.01).toBeCloseTo(0.3903044, 7);
    expect(chiSquareQuantile(0.025, 99)).toBeCloseTo(73.36108, 5);
    expect(chiSquareQuantile(0.975, 99)).toBeCloseTo(128.42199, 5);
  });
  it("ten wafers: chi-square test of σ (NIST/SEMATECH e-Handbook 7.2.3, inputs; figures recomputed)", () => {
    const statistic = (9 * 13.97 ** 2) / 100;
    expect(statistic).toBeCloseTo(17.5645, 4);
    expect(chiSquareQuantile(0.95, 9)).toBeCloseTo(16.91898, 5);
    expect(1 - chiSquareCdf(statistic, 9)).toBeCloseTo(0.04058, 5);
    const [low, high] = standardDeviationFactors(9);
    expect(13.97 * low).toBeCloseTo(9.609, 3);
    expect(13.97 * high).toBeCloseTo(25.504, 3);
  });
  it("heat flow meter: 95 % interval of the mean (NIST/SEMATECH e-Handbook 1.3.5.2)", () => {
    const t = tQuantile(0.975, 194);
    expect(t).toBeCloseTo(1.9722675, 7);
    const half = (t * 0.022789) / Math.sqrt(195);
    // The Handbook prints 9.258242; its own inputs give 9.2582413.
    expect(9.26146 - half).toBeCloseTo(9.2582413, 6);
    expect(9.26146 + half).toBeCloseTo(9.264679, 6);
  });
  it("effective degrees of freedom need not be whole (JCGM 100:2008, G.4.1: u 0.25, 0.57, 0.82 %, ν 9, 4, 14)", () => {
    const u = [0.25, 0.57, 0.82];
    const nu = [9, 4, 14];
    const combined = Math.hypot(...u);
    const effective = combined ** 4 / u.reduce((sum, ui, i) => sum + ui ** 4 / nu[i]!, 0);
    expect(combined).toBeCloseTo(1.02947, 5);
    expect(effective).toBeCloseTo(18.9987, 4);
    // The GUM truncates to 18… its example prints 2.09 for 19 and U = 2.2 %.
    expect(tQuantile(0.975, 19)).toBeCloseTo(2.09302, 5);
    expect(tQuantile(0.975, 19) * combined).toBeCloseTo(2.1547, 4);
    expect(tQuantile(0.975, effective)).toBeGreaterThan(tQuantile(0.975, 19));
    expect(tQuantile(0.975, effective)).toBeLessThan(tQuantile(0.975, 18));
  });
  it("relative standard deviation of s (JCGM 100:2008, Table E.1, from memory; recomputed as √(1/c4² − 1))", () => {
    const percent: [number, number][] = [
      [2, 75.55],
      [3, 52.27],
      [4, 42.2],
      [5, 36.3],
      [10, 23.88],
      [20, 16.33],
      [30, 13.19],
      [50, 10.13],
    ];
    for (const [n, value] of percent) expect(100 * Math.sqrt(1 / c4(n) ** 2 - 1)).toBeCloseTo(value, 2);
  });
  it("t at 99 % and 95.45 % (JCGM 100:2008, H.1 and G.2, from memory; recomputed)", () => {
    expect(tQuantile(0.995, 16)).toBeCloseTo(2.92078, 5);
    expect(tQuantile(1 - (1 - 0.9545) / 2, 10)).toBeCloseTo(2.28368, 3);
    expect(tCdf(2.92078, 16)).toBeCloseTo(0.995, 6);
  });
});
