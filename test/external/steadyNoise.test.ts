import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { quantisationReach } from "../../lib/measure/noiseQuantisation.ts";
import { measureSteady } from "../../lib/measure/steady.ts";
import { normalCdf } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { codeMoments } from "../../lib/simulate/levelTruth.ts";
import { steadyRecord } from "../measure/steadyRecord.ts";

/** Gaussian noise through a rounding quantiser, exact sums (recomputed from the definition with mpmath, CHECKS 6): σ, then sd at code centre, sd and bias at +¼ LSB, sd on a transition. */
const QUANTISED = [
  [0.1, 0.00076, 0.07856, -0.24379, 0.5],
  [0.2, 0.11144, 0.30756, -0.14444, 0.5],
  [0.3, 0.30916, 0.41245, -0.05387, 0.50171],
  [0.4, 0.46025, 0.4931, -0.01353, 0.52425],
  [0.5, 0.57045, 0.57735, -0.00229, 0.58417],
  [0.7, 0.7571, 0.75719, -0.00002, 0.75727],
  [1.0, 1.04083, 1.04083, 0, 1.04083],
] as const;

const scale = scaleOf({ bits: 10, low: 0, high: 1.024, firstTransition: 0.5 });
const ideal = simulatedTransitions(scale);
const at = (code: number, sigma: number) => codeMoments(ideal, code * scale.lsb, sigma * scale.lsb);

describe("Gaussian noise through an ideal quantiser", () => {
  it("expected codes and their spread match the exact sums to 1e-5", () => {
    for (const [sigma, centre, quarter, bias, edge] of QUANTISED) {
      expect(at(500, sigma).sd).toBeCloseTo(centre, 5);
      expect(at(500.25, sigma).sd).toBeCloseTo(quarter, 5);
      expect(at(500.25, sigma).mean - 500.25).toBeCloseTo(bias, 5);
      expect(at(500.5, sigma).sd).toBeCloseTo(edge, 5);
    }
  });
  it("the reach of quantisation is never below the bias of the mean", () => {
    for (const [sigma, , , bias] of QUANTISED)
      expect(quantisationReach(sigma)).toBeGreaterThanOrEqual(Math.abs(bias) - 5e-6);
    expect(quantisationReach(0)).toBe(0.5);
  });
});

/** Inputs seen in the sources named; bits recomputed. Tolerance: half a unit of the last printed digit. */
describe("resolution figures of published data", () => {
  const bits = (range: number, noise: number, factor: number): number => {
    // A converter of 24 bits, so that nothing is capped; noise of many codes, so that the estimate is exact to rounding.
    const wide = scaleOf({ bits: 24, low: 0, high: range, firstTransition: 0.5 });
    const lsb = noise / wide.lsb;
    const readings = 4096;
    // Normal scores: a record whose standard deviation is exactly what was published.
    const scores = Float64Array.from({ length: readings }, (_, i) => scoreOf((i + 0.5) / readings));
    const spread = Math.sqrt(scores.reduce((s, x) => s + x * x, 0) / (readings - 2));
    const shuffled = shuffle(Array.from(scores, (x) => Math.round(2 ** 23 + (lsb * x) / spread)));
    const { estimates } = measureSteady(steadyRecord(Int32Array.from(shuffled), wide), seededRandom(1));
    return (factor === 1 ? estimates.effectiveResolution : estimates.noiseFreeBits)!.value!;
  };
  it("a sigma-delta converter's data sheet (resolution table, inputs): 11.5 µV rms in 10 V are 19.73 effective bits", () => {
    expect(bits(10, 11.5e-6, 1)).toBeCloseTo(19.73, 2);
  });
  it("a 24-bit bridge part: 40 nV rms in 10 mV are 17.93 effective and 15.21 noise-free bits", () => {
    expect(bits(10e-3, 40e-9, 1)).toBeCloseTo(17.932, 2);
    expect(bits(10e-3, 40e-9, 6.6)).toBeCloseTo(15.209, 2);
  });
  it("noise-free lies log2 6.6 = 2.722 bits under effective, and ±3.3 σ hold 99.903 % of a Gaussian", () => {
    expect(bits(1, 1e-6, 1) - bits(1, 1e-6, 6.6)).toBeCloseTo(2.722466, 6);
    expect(2 * normalCdf(3.3) - 1).toBeCloseTo(0.99903315, 8);
    expect(2 * normalCdf(3) - 1).toBeCloseTo(0.9973002, 7);
  });
  it("a weigh scale: 300 nV peak to peak in 6 mV are 14.29 noise-free bits, 45.45 nV rms (vendor tutorial, inputs)", () => {
    expect(bits(6e-3, 300e-9 / 6.6, 6.6)).toBeCloseTo(14.288, 2);
  });
  it("averaging 4ⁿ readings adds n bits: 256 sums of 12-bit codes shifted right by 4 end at 65 520, not 65 535 (oversampling notes)", () => {
    const summed = scaleOf({
      bits: 12,
      low: 0,
      high: 1,
      firstTransition: 0.5,
      averaging: { readings: 256, shift: 4 },
    });
    expect(summed.bits).toBe(16);
    expect(summed.topCode).toBe(65520);
  });
  it("a 12-bit part cannot be better than 12 bits, however quiet: capped", () => {
    const scale12 = scaleOf({ bits: 12, low: 0, high: 10, firstTransition: 0.5 });
    const { estimates } = measureSteady(steadyRecord(new Int32Array(1000).fill(2000), scale12), seededRandom(1));
    expect(estimates.effectiveResolution).toMatchObject({ value: 12, low: 12, high: 12 });
    expect(estimates.effectiveResolution!.method).toContain("capped");
  });
});

/** Normal quantile by bisection of the distribution function: slow, plain, and not the code under test's own inverse. */
function scoreOf(p: number): number {
  let low = -9;
  let high = 9;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (normalCdf(middle) < p) low = middle;
    else high = middle;
  }
  return low;
}

function shuffle(values: number[]): number[] {
  const random = seededRandom(4);
  for (let i = values.length - 1; i > 0; i--) {
    const j = Math.floor(random.uniform() * (i + 1));
    [values[i], values[j]] = [values[j]!, values[i]!];
  }
  return values;
}
