import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { autocorrelation, describeValues } from "../../lib/signal/descriptive.ts";
import { fitLine } from "../../lib/signal/linearFit.ts";

const file = (name: string): string => readFileSync(new URL(`./data/${name}`, import.meta.url), "utf8");
const rows = (name: string): number[][] =>
  file(`nist/${name}.txt`)
    .split("\n")
    .filter((line) => line.trim() !== "" && !line.startsWith("#"))
    .map((line) => line.trim().split(/\s+/).map(Number));
const alternating = (first: number, low: number, high: number): number[] => [
  first,
  ...Array.from({ length: 1000 }, (_, i) => (i % 2 === 0 ? low : high)),
];
/** Digits that agree. */
const digits = (got: number, want: number): number =>
  got === want ? 16 : -Math.log10(Math.abs(got - want) / Math.abs(want));

/** NIST Statistical Reference Datasets, univariate summary statistics: certified values. Digits asked for: CHECKS §10, what a two-pass sum can reach. */
describe("mean, standard deviation and lag-1 autocorrelation against NIST StRD", () => {
  const sets: [string, number[], number, number, number, number][] = [
    ["Lew", rows("Lew").flat(), -177.435, 277.332168044316, -0.307304800605679, 13],
    ["Lottery", rows("Lottery").flat(), 518.95871559633, 291.699727470969, -0.120948622967393, 13],
    ["Mavro", rows("Mavro").flat(), 2.001856, 0.000429123454003053, 0.937989183438248, 12.5],
    ["Michelso", rows("Michelso").flat(), 299.8524, 0.0790105478190518, 0.535199668621283, 13],
    ["NumAcc1", rows("NumAcc1").flat(), 10000002, 1, -0.5, 13],
    ["NumAcc2", alternating(1.2, 1.1, 1.3), 1.2, 0.1, -0.999, 13],
    ["NumAcc3", alternating(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, -0.999, 9],
    ["NumAcc4", alternating(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, -0.999, 8],
  ];
  for (const [name, values, mean, sd, lag1, sdDigits] of sets) {
    it(name, () => {
      const got = describeValues(values);
      expect(digits(got.mean, mean)).toBeGreaterThanOrEqual(14);
      expect(digits(got.sd, sd)).toBeGreaterThanOrEqual(sdDigits);
      // A ratio of sums of squares keeps the digits of the standard deviation, less one.
      expect(digits(autocorrelation(values), lag1)).toBeGreaterThanOrEqual(Math.min(12, sdDigits - 1));
    });
  }
  it("NumAcc4 defeats the one-pass sum of squares, which is why it is not used", () => {
    const values = alternating(10000000.2, 10000000.1, 10000000.3);
    let sum = 0;
    let squares = 0;
    for (const x of values) {
      sum += x;
      squares += x * x;
    }
    const onePass = Math.sqrt(Math.max(0, (squares - (sum * sum) / 1001) / 1000));
    expect(digits(onePass, 0.1)).toBeLessThan(2);
    expect(digits(describeValues(values).sd, 0.1)).toBeGreaterThan(8);
  });
});

describe("straight line against NIST StRD Norris", () => {
  it("36 points", () => {
    const points = rows("Norris");
    expect(points).toHaveLength(36);
    const fit = fitLine(
      points.map(([, x]) => x!),
      points.map(([y]) => y!),
    );
    // CHECKS §10: 1e-10 relative, B0 1e-9.
    expect(digits(fit.intercept, -0.262323073774029)).toBeGreaterThan(9);
    expect(digits(fit.slope, 1.00211681802045)).toBeGreaterThan(10);
    expect(digits(fit.interceptSd!, 0.232818234301152)).toBeGreaterThan(10);
    expect(digits(fit.slopeSd!, 0.000429796848199937)).toBeGreaterThan(10);
    expect(digits(fit.residualSd!, 0.884796396144373)).toBeGreaterThan(10);
    expect(digits(fit.rSquared, 0.999993745883712)).toBeGreaterThan(10);
    expect(digits(fit.rss, 26.6173985294224)).toBeGreaterThan(10);
  });
});

describe("against scipy 1.17.1 (linear_descriptive.json)", () => {
  const reference = JSON.parse(file("linear_descriptive.json"));
  const lcg = (count: number, seed: number): number[] => {
    let n = seed;
    return Array.from({ length: count }, () => {
      const value = n / 2147483647;
      n = (16807 * n) % 2147483647;
      return value;
    });
  };
  it("linear regression of 50 points", () => {
    const noise = lcg(50, 987654321);
    const x = lcg(50, 1234567890).map((v) => 10 * v);
    const fit = fitLine(
      x,
      x.map((v, i) => 3 * v - 1.25 + noise[i]! - 0.5),
    );
    expect(digits(fit.slope, reference.fit.slope)).toBeGreaterThan(10);
    expect(digits(fit.intercept, reference.fit.intercept)).toBeGreaterThan(10);
    expect(digits(fit.slopeSd!, reference.fit.slope_se)).toBeGreaterThan(10);
    expect(digits(fit.interceptSd!, reference.fit.intercept_se)).toBeGreaterThan(10);
    expect(digits(fit.residualSd!, reference.fit.resid_sd)).toBeGreaterThan(10);
  });
  it("mean, sd, extremes and lag-1 of 200 values", () => {
    const z = lcg(200, 1234567890);
    const got = describeValues(z);
    expect(digits(got.mean, reference.z.mean)).toBeGreaterThan(10);
    expect(digits(got.sd, reference.z.sd)).toBeGreaterThan(10);
    expect(got.min).toBe(reference.z.min);
    expect(got.max).toBe(reference.z.max);
    expect(digits(autocorrelation(z), reference.z.lag1)).toBeGreaterThan(10);
  });
});
