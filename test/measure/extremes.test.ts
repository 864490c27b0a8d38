import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { extremeEstimator } from "../../lib/measure/extremes.ts";
import { normalQuantile } from "../../lib/signal/normal.ts";
import { type Random, seededRandom } from "../../lib/signal/random.ts";

/** DNL-like values: neighbours share an error, as widths share a transition. */
function noisy(truth: Float64Array, s: number, random: Random): Float64Array {
  let before = (s / Math.SQRT2) * random.normal();
  return truth.map((t) => {
    const after = (s / Math.SQRT2) * random.normal();
    const x = t + after - before;
    before = after;
    return x;
  });
}

function extremeOf(values: Float64Array, s: number, sign: 1 | -1 | 0, random: Random) {
  const standard = new Float64Array(values.length).fill(s);
  const estimator = extremeEstimator({ values, standard, ownVariance: s * s, sign, atLeast: 0 });
  const { places, values: drawnIn, top } = estimator.candidates;
  const up = (x: number): number => (sign === 0 ? Math.abs(x) : sign * x);
  const zero = new Float64Array(values.length);
  const excesses = Float64Array.from({ length: 40 }, () => {
    const errors = noisy(zero, s, random);
    return Math.max(...drawnIn.map((x, c) => up(x + errors[places[c]!]!))) - top;
  });
  return estimator.result(excesses);
}

const SHAPES: Record<string, (random: Random, k: number) => number> = {
  normal: (random) => 0.15 * random.normal(),
  // The recipe that matches the variance alone covers 57–73 % here (4096 codes).
  flat: (random) => 0.26 * (2 * random.uniform() - 1),
  "major carries": (random, k) => 0.05 * random.normal() + (k % 256 === 0 ? 0.4 : k % 128 === 0 ? 0.2 : 0),
};

describe("the largest of a thousand noisy codes", () => {
  // 80 records a cell, 95 % aimed at: fewer than 69 covered (86 %) has a chance of 1 in 2000 a cell at 95 %; cells of the wide simultaneous interval lie above.
  for (const [name, shape] of Object.entries(SHAPES))
    for (const s of [0.02, 0.06, 0.3])
      it(`${name} widths, noise ${s} LSB: the interval holds the true maximum`, () => {
        const random = seededRandom(17);
        let held = 0;
        for (let record = 0; record < 80; record++) {
          const truth = Float64Array.from({ length: 1024 }, (_, k) => shape(random, k));
          const found = extremeOf(noisy(truth, s, random), s, 1, random);
          const most = Math.max(...truth);
          if (most >= found.low && most <= found.high) held++;
        }
        expect(held).toBeGreaterThanOrEqual(69);
      });

  it("the plain maximum is biased by noise, the estimate far less", () => {
    const random = seededRandom(5);
    let plain = 0;
    let estimate = 0;
    for (let record = 0; record < 40; record++) {
      const truth = Float64Array.from({ length: 1024 }, () => 0.15 * random.normal());
      const x = noisy(truth, 0.06, random);
      const most = Math.max(...truth);
      plain += (Math.max(...x) - most) / 40;
      estimate += (extremeOf(x, 0.06, 1, random).value - most) / 40;
    }
    // Scatter of one is about 0.05: of forty, 0.008.
    expect(plain).toBeGreaterThan(0.03);
    expect(Math.abs(estimate)).toBeLessThan(0.03);
  });

  it("the minimum mirrors the maximum", () => {
    const random = seededRandom(2);
    const x = noisy(
      Float64Array.from({ length: 500 }, () => 0.2 * random.normal()),
      0.05,
      random,
    );
    const high = extremeOf(x, 0.05, 1, seededRandom(9));
    const low = extremeOf(
      x.map((v) => -v),
      0.05,
      -1,
      seededRandom(9),
    );
    expect(low.value).toBeCloseTo(-high.value, 1);
    expect(low.index).toBe(high.index);
  });

  it("is exact without noise, and of a single value", () => {
    expect(extremeOf(Float64Array.of(0.1, -0.3), 0, 0, seededRandom(1))).toMatchObject({
      value: 0.3,
      low: 0.3,
      high: 0.3,
    });
    expect(extremeOf(Float64Array.of(0.1), 0, 1, seededRandom(1)).value).toBe(0.1);
  });
  it("never lies below what the curve is known to reach", () => {
    const random = seededRandom(8);
    const found = extremeOf(noisy(new Float64Array(300), 0.5, random), 0.5, 1, random);
    expect(found.low).toBeGreaterThanOrEqual(0);
    expect(found.route).toBe("simultaneous");
  });
  it("refuses nothing at all", () =>
    expect(() => extremeOf(new Float64Array(0), 1, 1, seededRandom(1))).toThrow(/at least 1 value/));
});

const tailOf = (variance: number, kurtosis: number, least: number) => (p: number) =>
  kernels.tailDistances(variance, kurtosis, Float64Array.of(p), least)[0]!;

describe("tailDistances", () => {
  it("kurtosis 3 is the normal distribution's half", () => {
    const tail = tailOf(4, 3, 1e-4);
    // Interpolated between 48 points of log p: a few thousandths.
    for (const p of [0.5, 0.05, 0.001]) expect(tail(p)).toBeCloseTo(2 * -normalQuantile(p / 2), 1);
  });
  it("kurtosis 1.8 is nearly flat: everything within √3 standard deviations and a tenth", () =>
    expect(tailOf(1, 1.8, 1e-4)(1e-4)).toBeLessThan(Math.sqrt(3) * 1.15));
  it("kurtosis 6 is Laplace's: ln(1/p)/√2 standard deviations", () => {
    const tail = tailOf(1, 6, 1e-4);
    for (const p of [0.3, 0.01]) expect(tail(p)).toBeCloseTo(Math.log(1 / p) / Math.SQRT2, 1);
  });
});
