import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convertAll, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { toneTruth } from "../../lib/simulate/toneTruth.ts";

const scale = scaleOf({ bits: 8, low: 0, high: 2.56, firstTransition: 0.5 });

describe("toneTruth", () => {
  /** 6.02·N + 1.76 − 20·log10(level), with the uniform error of a rounding quantiser and Gaussian noise: NAD² = Q²/12 + σ². Source: Bennett 1948; Sheppard 1898. */
  it("is 1/12 + σ² for an ideal converter whose noise spreads the quantisation error evenly", () => {
    const T = simulatedTransitions(scale);
    for (const noise of [0.5, 1, 3]) {
      const truth = toneTruth({ T, scale, amplitude: 1.2, offset: 1.283, noise: noise * scale.lsb, sampleRate: 2000 });
      const nad = 1 / 12 + noise ** 2;
      const sinad = 10 * Math.log10(120 ** 2 / 2 / nad);
      // At σ = 0.5 the error's own pattern still moves NAD² by some 1 %, at 1 by nothing; the trapezoid over the noise to 0.003 dB.
      expect(Math.abs(truth.sinad! - sinad)).toBeLessThan(noise < 1 ? 0.05 : 0.005);
      expect(Math.abs(truth.snr! - sinad)).toBeLessThan(noise < 1 ? 0.05 : 0.005);
      expect(truth.thd!).toBeLessThan(-60);
      expect(truth.enob!).toBeCloseTo(8 - Math.log2(Math.sqrt(12 * nad)), 1);
      expect(truth.signalLevel!).toBeCloseTo(20 * Math.log10(240 / 256), 3);
      // Over half of 2000 Hz: 30 dB below the noise's own level.
      expect(truth.noiseFloor!).toBeCloseTo(truth.signalLevel! - truth.snr! - 30, 9);
    }
  });
  it("keeps its digits where the codes are large: 16 bits", () => {
    const wide = scaleOf({ bits: 16, low: 0, high: 2.5, firstTransition: 0.5 });
    const truth = toneTruth({
      T: simulatedTransitions(wide),
      scale: wide,
      amplitude: 1.1,
      offset: 1.25,
      noise: 1.5 * wide.lsb,
    });
    // σ² + 1/12 beside the power of 28 835.84 LSB; what is left of the quantiser's pattern is below 1e-15.
    const sinad = 10 * Math.log10(28835.84 ** 2 / 2 / (2.25 + 1 / 12));
    expect(Math.abs(truth.sinad! - sinad)).toBeLessThan(0.001);
  });
  it("is what a long record of the simulated converter shows", () => {
    const T = simulatedTransitions(scale, { bow: 0.8, sCurve: 0.3, dnlSigma: 0.1, offset: 2, gainPercent: 0.5 });
    for (const noise of [0, 0.1, 0.6]) {
      const setUp = { T, scale, amplitude: 1.22, offset: 1.281, noise: noise * scale.lsb };
      const M = 200000;
      // One slow cycle: every phase alike, no sine fit, no FFT; sums straight from the definition.
      const codes = convertAll(
        T,
        (n) => setUp.offset + setUp.amplitude * Math.cos((2 * Math.PI * (n + 0.31)) / M),
        M,
        setUp.noise,
        seededRandom(3),
      );
      const harmonic = (h: number): number => {
        let a = 0;
        let b = 0;
        codes.forEach((y, n) => {
          const angle = (2 * Math.PI * h * (n + 0.31)) / M;
          a += (2 * y * Math.cos(angle)) / M;
          b += (2 * y * Math.sin(angle)) / M;
        });
        return (a * a + b * b) / 2;
      };
      const mean = codes.reduce((a, b) => a + b, 0) / M;
      const total = codes.reduce((s, y) => s + (y - mean) ** 2, 0) / M;
      const tone = harmonic(1);
      let distortion = 0;
      for (let h = 2; h <= 10; h++) distortion += harmonic(h);
      const truth = toneTruth(setUp);
      // Noise of 200 000 readings: NAD² known to 0.3 %, 0.014 dB; harmonics near −50 dBc to 0.02 dB. Three of these.
      expect(Math.abs(truth.sinad! - 10 * Math.log10(tone / (total - tone)))).toBeLessThan(0.045);
      expect(Math.abs(truth.snr! - 10 * Math.log10(tone / (total - tone - distortion)))).toBeLessThan(0.05);
      expect(Math.abs(truth.thd! - 10 * Math.log10(distortion / tone))).toBeLessThan(0.06);
      expect(Math.abs(truth.signalLevel! - 10 * Math.log10(tone / (256 ** 2 / 8)))).toBeLessThan(1e-3);
      expect(truth.sfdr!).toBeLessThanOrEqual(-truth.thd! + 10 * Math.log10(9));
    }
  });
  it("leaves inseparable harmonics out of distortion and noise", () => {
    const T = simulatedTransitions(scale, { bow: 2 });
    const setUp = { T, scale, amplitude: 1.22, offset: 1.281, noise: scale.lsb };
    const all = toneTruth(setUp);
    const without = toneTruth({ ...setUp, inseparable: [2] });
    expect(without.thd!).toBeLessThan(all.thd! - 10);
    expect(without.snr!).toBeCloseTo(all.snr!, 9);
    expect(without.sinad!).toBeGreaterThan(all.sinad!);
  });
  it("refuses a tone without amplitude", () => {
    expect(() => toneTruth({ T: simulatedTransitions(scale), scale, amplitude: 0, offset: 1, noise: 0 })).toThrow(
      RangeError,
    );
  });
});
