import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { noiseByInversions } from "../../lib/measure/transitionsNoise.ts";
import { seededRandom } from "../../lib/signal/random.ts";

describe("overshoot", () => {
  it("is the mean of max(0, z − u) of a standard normal z", () => {
    // Numerical integral of the definition, step 1e-3: error below 1e-6.
    const direct = (u: number): number => {
      let sum = 0;
      for (let z = u; z < 9; z += 1e-3) sum += (z - u) * Math.exp(-0.5 * z * z) * 1e-3;
      return sum / Math.sqrt(2 * Math.PI);
    };
    for (const u of [0, 0.3, 1, 2.5]) expect(kernels.overshoot(u)).toBeCloseTo(direct(u), 5);
    expect(kernels.overshoot(0)).toBeCloseTo(1 / Math.sqrt(2 * Math.PI), 12);
  });
});

describe("inversionSum", () => {
  it("agrees with every pair looked at", () =>
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -5, max: 9 }), { maxLength: 60 }), (codes) => {
        let sum = 0;
        for (let i = 0; i < codes.length; i++)
          for (let j = i + 1; j < codes.length; j++) sum += Math.max(0, codes[i]! - codes[j]!);
        expect(kernels.inversionSum(Int32Array.from(codes))).toBe(sum);
      }),
    ));
});

function rampWith(noise: number, readings: number, codes: number, seed: number) {
  const random = seededRandom(seed);
  const inputs = Float64Array.from({ length: readings }, (_, n) => (codes * n) / readings);
  return {
    inputs,
    codes: Int32Array.from(inputs, (x) => Math.floor(x + noise * random.normal())),
    rails: [0, codes] as const,
  };
}

describe("noiseByInversions", () => {
  // 20 000 readings over 256 codes; the scatter of the estimate over seeds is 1 to 4 % (12 seeds looked at), so 12 % is at least three of it.
  it.each([0.05, 0.3, 1, 3])("recovers a noise of %f LSB", (noise) => {
    const found = noiseByInversions([rampWith(noise, 20_000, 256, 3)]);
    expect(Math.abs(found.sigma / noise - 1)).toBeLessThan(0.12);
    expect(found.standard).toBeLessThan(0.3 * noise);
  });
  it("a few readings with a wrong high bit do not count as noise", () => {
    const run = rampWith(0.5, 20_000, 256, 5);
    const codes = run.codes.map((c, i) => (i % 2500 === 1200 ? c ^ 64 : c));
    expect(Math.abs(noiseByInversions([{ ...run, codes }]).sigma / 0.5 - 1)).toBeLessThan(0.12);
  });
  it("without a single inversion gives what would still have caused one, below the gap between readings", () => {
    const found = noiseByInversions([rampWith(0, 2_000, 256, 3)]);
    expect(found.inversions).toBe(0);
    // Gap 0.128 LSB.
    expect(found.sigma).toBeGreaterThan(0);
    expect(found.sigma).toBeLessThan(0.128);
  });
  it("gives nothing for nothing", () =>
    expect(noiseByInversions([])).toEqual({ sigma: 0, standard: 0, inversions: 0 }));
});
