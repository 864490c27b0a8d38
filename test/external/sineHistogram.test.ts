import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { differentialNonlinearity, integralNonlinearity, staticLine } from "../../lib/measure/staticLine.ts";
import { plainTransitions } from "../../lib/measure/transitionsPlain.ts";
import { sineWaveform } from "../../lib/measure/transitionsWaveform.ts";
import { fitLine } from "../../lib/signal/linearFit.ts";

// Reference set of a 4-bit converter: transitions, the counts of an overdriven sine rounded from exact probabilities, and the answers (CHECKS 8J; numpy 2.4.6).
const set = JSON.parse(readFileSync(new URL("./data/sinehist.json", import.meta.url), "utf8")) as {
  T: number[];
  C: number;
  A: number;
  N: number;
  counts: number[];
  dnl_endpoint: number[];
  inl_endpoint: number[];
  lsq_slope: number;
  inl_bestfit: number[];
};
const scale = scaleOf({ bits: 4, low: 0, high: 16, firstTransition: 0.5 });
const histogram = { counts: Float64Array.from(set.counts), below: 0, above: 0, total: set.N };
const T = plainTransitions(histogram, sineWaveform(set.C, set.A)).slice(1);
// Rounding of the counts leaves less than 2e-5 LSB in each transition (stated in the set).
const ROUNDING = 2e-5;

function near(got: ArrayLike<number>, wanted: readonly number[], within: number): void {
  wanted.forEach((w, i) => {
    expect(Math.abs(got[i]! - w), `element ${i}`).toBeLessThan(within);
  });
}

describe("sine histogram T[k] = C − A·cos(π·CH[k−1]/S), IEEE Std 1241-2010", () => {
  it("gives the transitions that the counts were made from", () => near(T, set.T, ROUNDING));

  it("gives the end-point DNL and INL", () => {
    const line = staticLine(T, scale, 1, "endpoint");
    // Two or three transitions enter each figure.
    near(differentialNonlinearity(T, scale.lsb, line), set.dnl_endpoint, 3 * ROUNDING);
    near(integralNonlinearity(T, scale, 1, line), set.inl_endpoint, 3 * ROUNDING);
    expect(Math.max(...differentialNonlinearity(T, 1, line).slice(0, -1).map(Math.abs))).toBeCloseTo(0.310984, 4);
    expect(Math.max(...integralNonlinearity(T, scale, 1, line).map(Math.abs))).toBeCloseTo(0.206847, 4);
  });

  it("gives offset and gain with the contract's signs: +0.0207 LSB and −0.1427 %", () => {
    // The set states −0.02 LSB (first transition low) and +0.02 LSB (span too long) in the data-sheet sense.
    const line = staticLine(T, scale, 1, "endpoint");
    expect(line.offset).toBeCloseTo(0.0207, 4);
    expect(100 * (line.gain - 1)).toBeCloseTo(-0.1427, 3);
  });

  it("regresses ideal T on T, which differs from the set's T on k by the squared correlation", () => {
    const line = staticLine(T, scale, 1, "best-fit");
    const k = set.T.map((_, i) => i + 1);
    const onK = fitLine(k, set.T);
    expect(onK.slope).toBeCloseTo(set.lsq_slope, 9);
    // Slopes of the two regressions multiply to r².
    expect(line.gain * onK.slope).toBeCloseTo(onK.rSquared, 5);
    // The set's best-fit INL, T on k in LSB, is the same to the first order in 1 − r² (3e-4 over 7 LSB).
    near(integralNonlinearity(T, scale, 1, line), set.inl_bestfit, 8 * (1 - onK.rSquared) + 3 * ROUNDING);
  });
});
