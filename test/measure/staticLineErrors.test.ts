import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { staticLine } from "../../lib/measure/staticLine.ts";
import { shrunkWidths, staticErrors } from "../../lib/measure/staticLineErrors.ts";
import type { Transitions } from "../../lib/measure/transitions.ts";
import { noiseCorrelation } from "../../lib/measure/transitions.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const scale = scaleOf({ bits: 6, low: 0, high: 64, firstTransition: 0.5 });

function transitions(noise: number, gap: number, sigma: number): Transitions {
  const inputs = Float64Array.from({ length: 63 }, (_, i) => i + 0.5);
  return {
    first: 1,
    step: 1,
    inputs,
    noise: new Float64Array(63).fill(noise),
    gap: new Float64Array(63).fill(gap),
    density: new Float64Array(63).fill(100),
    sigma,
    readings: 10_000,
  };
}

describe("noiseCorrelation", () => {
  it("agrees with the covariance of two counts summed over readings", () => {
    // Readings every 0.01 LSB, σ = 0.8: Σ p_k(1 − p_j) against Σ p(1 − p).
    const sigma = 0.8;
    const cdf = (z: number): number => {
      let sum = 0;
      for (let t = -8; t < z; t += 1e-3) sum += Math.exp(-0.5 * t * t) * 1e-3;
      return sum / Math.sqrt(2 * Math.PI);
    };
    let own = 0;
    let shared = 0;
    for (let v = -6; v < 7; v += 0.02) {
      const a = cdf(-v / sigma);
      const b = cdf((1 - v) / sigma);
      own += a * (1 - a);
      shared += a * (1 - b);
    }
    expect(noiseCorrelation(1, sigma)).toBeCloseTo(shared / own, 3);
  });
  it("is 1 at no distance and nothing at many σ", () => {
    expect(noiseCorrelation(0, 1)).toBeCloseTo(1, 12);
    expect(noiseCorrelation(9, 1)).toBeLessThan(1e-8);
    expect(noiseCorrelation(1, 0)).toBe(0);
  });
});

describe("staticErrors", () => {
  for (const line of ["endpoint", "best-fit"] as const)
    for (const sigma of [0.2, 2])
      it(`${line}, σ ${sigma}: offset, gain, INL and DNL scatter as stated when the transitions do`, () => {
        const tr = transitions(0.1, 0, sigma);
        const widths = new Float64Array(62).fill(1);
        const stated = staticErrors(tr, scale, line, 1, widths);
        const draws = 3000;
        seededRandom(3).takeTurn();
        const errors = kernels.errorDraws(tr, widths, draws);
        const ideal = staticLine(tr.inputs, scale, 1, line);
        let offset = 0;
        let gain = 0;
        let inl = 0;
        let dnl = 0;
        for (let d = 0; d < draws; d++) {
          const moved = tr.inputs.map((x, i) => x + errors[63 * d + i]!);
          const got = staticLine(moved, scale, 1, line);
          offset += (got.offset - ideal.offset) ** 2 / draws;
          gain += (got.gain - ideal.gain) ** 2 / draws;
          inl += (got.gain * moved[20]! + got.offset - (tr.inputs[20]! + 0)) ** 2 / draws;
          dnl += (got.gain * (moved[31]! - moved[30]!) - 1) ** 2 / draws;
        }
        // 3000 draws know a standard deviation to 1.3 %; a chain of neighbours follows the correlation of distant ones only roughly, which shows in a
        // best-fit line and large noise.
        const within = line === "best-fit" && sigma > 1 ? 0.2 : 0.06;
        expect(Math.abs((1.96 * Math.sqrt(offset)) / stated.offset.halfWidth - 1)).toBeLessThan(within);
        expect(Math.abs((196 * Math.sqrt(gain)) / stated.gain.halfWidth - 1)).toBeLessThan(within);
        expect(Math.abs(Math.sqrt(inl) / stated.inl[20]! - 1)).toBeLessThan(0.08);
        expect(Math.abs(Math.sqrt(dnl) / stated.dnl[30]! - 1)).toBeLessThan(0.06);
      });

  it("gaps alone: uniform errors, whose 95 % lie closer than 1.96 standard deviations", () => {
    const stated = staticErrors(transitions(0, 0.1, 0), scale, "endpoint", 1, new Float64Array(62).fill(1));
    // One gap of ±0.1: 95 % within 0.095.
    expect(1.96 * stated.transitions[5]!).toBeCloseTo(0.095, 4);
    expect(stated.inl[0]).toBe(0);
    expect(stated.inl[62]).toBe(0);
    expect(stated.dnl[62]).toBeNaN();
    expect(stated.offset.noise).toBe(0);
  });
});

describe("shrunkWidths", () => {
  it("draws widths to 1 when their spread is what noise explains, and keeps them when it is not", () => {
    const random = seededRandom(4);
    const scattered = (noise: number): Transitions => {
      const tr = transitions(noise, 0, 0.1);
      return { ...tr, inputs: tr.inputs.map((x) => x + 0.1 * random.normal()) };
    };
    const spread = (w: Float64Array): number => Math.sqrt(w.reduce((s, x) => s + (x - 1) ** 2, 0) / w.length);
    expect(spread(shrunkWidths(scattered(0.1)))).toBeLessThan(0.06);
    expect(spread(shrunkWidths(scattered(0.001)))).toBeGreaterThan(0.1);
  });
});

describe("correlatedCount", () => {
  it("is one without noise and grows as σ·√π", () => {
    expect(kernels.correlatedCount(1000, 0)).toBe(1);
    // Σ ρ(j) → ∫ρ = 2·σ√2·(1/4)/L(0) = σ·√π.
    expect(kernels.correlatedCount(1000, 8)).toBeCloseTo(8 * Math.sqrt(Math.PI), 1);
    expect(kernels.correlatedCount(5, 100)).toBe(5);
  });
});
