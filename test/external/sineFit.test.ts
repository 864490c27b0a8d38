import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

const reference = JSON.parse(readFileSync(new URL("./data/sinefit.json", import.meta.url), "utf8"));

describe("sine fit against scipy.optimize.curve_fit 1.17.1 and numpy lstsq (sinefit.json, 10-bit codes, 1024 readings)", () => {
  it("four parameters", () => {
    const fit = fitSine(reference.codes)!;
    const { four, four_sd } = reference;
    // The file's tolerances.
    expect(Math.abs(fit.amplitude - four.amplitude)).toBeLessThan(1e-5);
    expect(Math.abs(fit.offset - four.offset)).toBeLessThan(1e-5);
    expect(Math.abs(fit.cyclesPerReading - four.freq_cycles_per_sample)).toBeLessThan(1e-10);
    expect(Math.abs(fit.phase - four.phase_rad_cos_convention)).toBeLessThan(1e-6);
    expect(Math.abs(Math.sqrt(fit.rss / 1024) - four.rms_residual_div_N)).toBeLessThan(1e-6);
    expect(Math.abs(fit.residualRms - four.rms_residual_div_N_minus_p)).toBeLessThan(1e-6);
    // Published to six digits by a finite-difference Jacobian.
    expect(fit.standard.cyclesPerReading / four_sd.f).toBeCloseTo(1, 5);
    expect(fit.standard.offset / four_sd.c).toBeCloseTo(1, 5);
    // CHECKS Q4, Q6: ENOB 9.271014 by rms with divisor M.
    const enob = 10 - Math.log2(Math.sqrt(fit.rss / 1024) * Math.sqrt(12));
    expect(enob).toBeCloseTo(9.271013649, 6);
  });
  it("three parameters at a frequency 10 ppm off", () => {
    const fit = fitSine(reference.codes, { frequency: reference.three_fixed_freq, fixed: true })!;
    expect(Math.abs(Math.sqrt(fit.rss / 1024) - reference.three.rms_residual_div_N)).toBeLessThan(1e-6);
    expect(Math.abs(fit.amplitude - reference.three.amplitude)).toBeLessThan(1e-5);
    expect(fit.parameters).toBe(3);
  });
});

/**
 * NIST/SEMATECH e-Handbook of Statistical Methods, 1.4.2.5 (beam deflection, StRD set Lew): the published sine (amplitude 361.766, residual sd 155.8) is not the
 * least-squares minimum. Recomputed by scipy over 1001 frequencies: sd 134.0664, amplitude 343.28857, frequency 0.301807036 cycles a reading.
 */
describe("a start value that cannot land on the wrong peak", () => {
  it("finds the deepest minimum of the Lew data, not the published one", () => {
    const text = readFileSync(new URL("./data/nist/Lew.txt", import.meta.url), "utf8");
    const values = text
      .split("\n")
      .filter((line) => line !== "" && !line.startsWith("#"))
      .map(Number);
    expect(values).toHaveLength(200);
    const fit = fitSine(values)!;
    expect(fit.residualRms).toBeLessThanOrEqual(134.0665);
    expect(Math.abs(fit.amplitude - 343.289)).toBeLessThan(0.01);
    expect(Math.abs(fit.cyclesPerReading - 0.301807036)).toBeLessThan(2e-7);
    expect(fit.offset).toBeCloseTo(-178.768157, 3);
  });
});

/**
 * Cramér-Rao bound of a real tone, exact (inverse of the Fisher matrix): A = 1, σ = 0.01, M = 1024, f = 0.1237, φ = 0.4. Source: Rife and Boorstyn, IEEE T-IT 20(5),
 * 1974, with twice the variance for a real tone; Kay, "Fundamentals of Statistical Signal Processing: Estimation Theory", 1993, ex. 3.14.
 */
describe("uncertainties of the fit against the Cramér-Rao bound", () => {
  const bound = { amplitude: 4.41817e-4, cyclesPerReading: 2.38149e-7, phase: 8.83472e-4, offset: 3.12502e-4 };
  const random = seededRandom(20);
  const fits = Array.from({ length: 400 }, () =>
    fitSine(
      Float64Array.from(
        { length: 1024 },
        (_, n) => Math.cos(2 * Math.PI * 0.1237 * n + 0.4) + 0.01 * random.normal() + 3,
      ),
    ),
  );
  for (const [name, sd] of Object.entries(bound)) {
    it(`${name}: stated and found`, () => {
      const key = name as keyof typeof bound;
      const values = fits.map((f) => f![key]);
      const mean = values.reduce((a, b) => a + b) / 400;
      const spread = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / 399);
      // The spread of 400 fits is known to 3.5 %: three of these.
      expect(Math.abs(spread / sd - 1)).toBeLessThan(0.106);
      const stated = fits.reduce((a, f) => a + f!.standard[key], 0) / 400;
      // Each fit's own residual is known to 1/√(2·1020) = 2.2 %, their mean to 0.11 %.
      expect(Math.abs(stated / sd - 1)).toBeLessThan(0.005);
    });
  }
});
