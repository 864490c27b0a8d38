import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { linearWaveform, sineWaveform } from "../../lib/measure/transitionsWaveform.ts";
import { normalCdf, normalPdf } from "../../lib/signal/normal.ts";

describe("smearedWaveform", () => {
  it("of a ramp follows the closed form σ·(zΦ(z) + φ(z))/span near its start", () => {
    const wave = linearWaveform(0, 100);
    for (const x of [0.5, 1, 2, 4]) {
      const z = x / 2;
      // The kink at the ramp's start, sampled every 0.1 σ, leaves 1e-4 of σ.
      expect(kernels.smearedWaveform(wave, x, 2).share).toBeCloseTo((2 * (z * normalCdf(z) + normalPdf(z))) / 100, 4);
    }
  });
  it("a count's variance in the middle of a ramp is σ/√π readings per reading density", () => {
    const { scatter, slope } = kernels.smearedWaveform(linearWaveform(0, 100), 50, 2);
    // Noise is cut off at 4.8 σ, which leaves 1e-5 of the slope.
    expect(slope).toBeCloseTo(0.01, 6);
    // ∫Φ(1 − Φ) = 1/√π.
    expect(scatter).toBeCloseTo((0.01 * 2) / Math.sqrt(Math.PI), 5);
  });
});

describe("freedOfNoise", () => {
  it("undoes what noise did to a sine's count, at the ends and inside", () => {
    const wave = sineWaveform(0, 130);
    for (const sigma of [0.5, 3])
      for (const truth of [-127, -120, -60, 0, 100, 126]) {
        const seen = wave.at(fineShare(truth, sigma));
        // The quadrature at the turning point leaves about a thousandth of σ.
        expect(Math.abs(kernels.freedOfNoise(wave, seen, sigma, true)!.x - truth)).toBeLessThan(0.002 * sigma);
      }
    /** Share of readings below x by a fine sum over 20 001 noise values. */
    function fineShare(x: number, sigma: number): number {
      let sum = 0;
      let weight = 0;
      for (let z = -6; z <= 6; z += 12 / 20_000) {
        const w = Math.exp(-0.5 * z * z);
        sum += w * wave.below(x - sigma * z);
        weight += w;
      }
      return sum / weight;
    }
  });
  it("changes nothing without noise, and nothing in the middle of a ramp", () => {
    expect(kernels.freedOfNoise(sineWaveform(0, 10), 3, 0, true)!.x).toBe(3);
    expect(kernels.freedOfNoise(linearWaveform(0, 100), 40, 1, false)!.x).toBe(40);
  });
  it("is null for a share that no input within the sweep gives: noise alone got there", () => {
    // 1e-4 of the readings below: a ramp at its own start already has 0.8 % below it by noise of 2 LSB.
    expect(kernels.freedOfNoise(linearWaveform(0, 100), 0.01, 2, false)).toBeNull();
  });
});
