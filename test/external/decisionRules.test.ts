import { describe, expect, it } from "vitest";
import { halfWidth, Z95 } from "../../lib/judge/coverage.ts";
import { decideBound } from "../../lib/judge/decideBound.ts";
import { normalCdf } from "../../lib/signal/distributions.ts";

/** JCGM 106:2012, "The role of measurement uncertainty in conformity assessment", 7.2 to 8.3; ILAC-G8:09/2019, 4.2. Tolerance 1e-6: closed forms. */
describe("conformance probability and guard bands", () => {
  it("JCGM 106 voltage example (from memory; recomputed): 0.07 V inside the limit at u = 0.05 V", () => {
    expect(normalCdf(0.07 / 0.05)).toBeCloseTo(0.919243, 6);
  });
  it("upper limit 1.00, u 0.05 (recomputed)", () => {
    const published: [number, number][] = [
      [0.85, 0.99865],
      [0.9, 0.97725],
      [0.95, 0.841345],
      [1.0, 0.5],
      [1.05, 0.158655],
    ];
    for (const [y, pc] of published) expect(normalCdf((1 - y) / 0.05)).toBeCloseTo(pc, 6);
  });
  it("a guard band of U = 2u leaves a worst false acceptance of 2.275 % ('below 2.5 %', ILAC-G8), 1.645u leaves 5 %", () => {
    expect(1 - normalCdf(2)).toBeCloseTo(0.02275, 6);
    expect(normalCdf(1.645)).toBeCloseTo(0.950015, 6);
    expect(normalCdf(1.65)).toBeCloseTo(0.950529, 6);
    expect(normalCdf(1.64)).toBeCloseTo(0.949497, 6);
  });
  it("two-sided tolerance ±1 (recomputed)", () => {
    const pc = (y: number, u: number): number => normalCdf((1 - y) / u) - normalCdf((-1 - y) / u);
    expect(pc(0.9, 0.2)).toBeCloseTo(0.691462, 6);
    expect(pc(0, 1)).toBeCloseTo(0.682689, 6);
    expect(pc(0.5, 0.25)).toBeCloseTo(0.97725, 5);
  });
  it("a guarded pass at its worst is wrong in 2.5 % of cases, when the value is normal", () => {
    // The furthest value that still passes a maximum of 1 at U = 1.96u lies 1.96u below it.
    const u = 0.05;
    const value = 1 - Z95 * u;
    expect(decideBound("max", 1, { value, low: value - Z95 * u, high: 1 }, "guarded")).toBe("pass");
    expect(1 - normalCdf((1 - value) / u)).toBeCloseTo(0.025, 9);
  });
  it("ILAC-G8's non-binary example (limit 1.0, U 0.1): what it calls conditional is undecided here, on both sides", () => {
    const at = (y: number): string => decideBound("max", 1, { value: y, low: y - 0.1, high: y + 0.1 }, "guarded");
    expect([0.85, 0.95, 1.05, 1.15].map(at)).toEqual(["pass", "undecided", "undecided", "fail"]);
    const simple = (y: number): string => decideBound("max", 1, { value: y, low: y - 0.1, high: y + 0.1 }, "simple");
    expect([0.85, 0.95, 1.05, 1.15].map(simple)).toEqual(["pass", "pass", "fail", "fail"]);
  });
});

/** JCGM 101:2008, "Propagation of distributions using a Monte Carlo method", 9.2 (from memory; each recomputed in closed form or by MC there). */
describe("coverage intervals of the additive model", () => {
  it("four normal inputs of unit standard deviation: ±3.92", () => {
    expect(halfWidth(2, [])).toBeCloseTo(3.92, 2);
  });
  it("four rectangular inputs of unit standard deviation: ±3.88", () => {
    const a = Math.sqrt(3);
    expect(halfWidth(0, [a, a, a, a])).toBeCloseTo(3.88, 2);
  });
  it("three of them and one of standard deviation 10: ±17.0, not the ±19.9 of the law of propagation", () => {
    const a = Math.sqrt(3);
    expect(halfWidth(0, [a, a, a, 10 * a])).toBeCloseTo(17.0, 1);
    expect(Z95 * Math.hypot(1, 1, 1, 10)).toBeCloseTo(19.9, 1);
  });
  it("divisors: a rectangle of half-width a has standard deviation a/√3 (JCGM 100:2008, 4.3.7)", () => {
    // A rectangle lost in noise ten times as wide widens it by its variance: ½·(1/√3/10)² relative.
    expect(halfWidth(10, [1]) / halfWidth(10, [])).toBeCloseTo(Math.hypot(10, 0.57735) / 10, 5);
  });
});
