import { describe, expect, it } from "vitest";
import { analyseTone } from "../../lib/measure/toneAnalysis.ts";
import { colouredness, toneSpectrum } from "../../lib/measure/toneSpectrum.ts";
import { largestSpur } from "../../lib/measure/toneSpurs.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

const make = (M: number, f: number, noise: (n: number) => number): Int32Array =>
  Int32Array.from({ length: M }, (_, n) =>
    Math.round(2 ** 20 + 9e5 * Math.cos(2 * Math.PI * (f * n - Math.floor(f * n)) + 0.3) + noise(n)),
  );
const spectrumOf = (codes: Int32Array) => {
  const fit = fitSine(codes)!;
  const analysis = analyseTone(codes, fit);
  return { fit, analysis, spectrum: toneSpectrum(codes, analysis) };
};

describe("toneSpectrum", () => {
  it("shows white noise at σ²·2·bandwidth/L a bin, whole or averaged, coherent or not", () => {
    for (const [M, f, segments, window] of [
      [5000, 0.12345, 1, "Hann"],
      [4096, 501 / 4096, 1, "rectangular"],
      [300000, 0.0917, 35, "Hann"],
    ] as const) {
      const random = seededRandom(M);
      const { spectrum } = spectrumOf(make(M, f, () => 50 * random.normal()));
      expect([spectrum.segments, spectrum.window]).toEqual([segments, window]);
      const mean = spectrum.residual.reduce((a, b) => a + b) / spectrum.residual.length;
      const expected = (2500 * 2 * spectrum.noiseBandwidth) / spectrum.length;
      // The mean of 2000 bins or more is known to 2.5 % (Hann's neighbours alike); four of these, and the bins that tone and harmonics emptied.
      expect(Math.abs(mean / expected - 1)).toBeLessThan(0.12);
      const level = [...spectrum.floor].sort((a, b) => a - b)[spectrum.floor.length >> 1]!;
      expect(Math.abs(level / expected - 1)).toBeLessThan(0.12);
      // The second route agrees with the first: both see all of the noise.
      expect(Math.abs(spectrum.nad! / 2500 - 1)).toBeLessThan(0.15);
    }
  });
  it("has no second route where the record is too short for its window", () => {
    const random = seededRandom(1);
    expect(spectrumOf(make(60, 0.1234, () => 50 * random.normal())).spectrum.nad).toBeNull();
  });
});

describe("largestSpur", () => {
  it("finds a line between bins, its power and place, in records short and long", () => {
    for (const M of [1000, 4096, 200000]) {
      for (const place of [0.2, 0.20037]) {
        const random = seededRandom(M);
        const A = 400;
        const codes = make(M, 0.0917, (n) => A * Math.cos(2 * Math.PI * place * n + 1) + 50 * random.normal());
        const { fit, spectrum } = spectrumOf(codes);
        const spur = largestSpur(spectrum, fit.cyclesPerReading)!;
        expect(spur.standsOut).toBe(true);
        expect(Math.abs(spur.frequency - place)).toBeLessThan(0.6 / spectrum.length);
        // The line stands 27 dB or more over a bin's noise: 0.4 dB at two standard deviations, and 0.2 dB for the interpolation between bins.
        expect(Math.abs(10 * Math.log10(spur.power / ((A * A) / 2)))).toBeLessThan(0.6);
        expect(spur.low).toBeLessThan(spur.power);
        expect(spur.high).toBeGreaterThan(spur.power);
      }
    }
  });
  it("seldom takes noise for a line, white or rising towards DC", () => {
    let alarms = 0;
    for (let seed = 1; seed <= 80; seed++) {
      const random = seededRandom(seed);
      let x = 0;
      const rho = seed % 2 === 0 ? 0.9 : 0;
      const codes = make(seed % 4 < 2 ? 1000 : 5000, 0.123, () => {
        x = rho * x + random.normal();
        return 50 * x;
      });
      const { fit, spectrum } = spectrumOf(codes);
      const spur = largestSpur(spectrum, fit.cyclesPerReading)!;
      expect(spur.high).toBeGreaterThan(0);
      if (spur.standsOut) alarms++;
    }
    // Half a per cent each is aimed at; steep noise in short records allows a few more.
    expect(alarms).toBeLessThanOrEqual(4);
  });
});

describe("colouredness", () => {
  it("is 1 for white noise, with or without a line, and what theory says for correlated noise", () => {
    for (const seed of [1, 2, 3, 4, 5]) {
      const random = seededRandom(seed);
      const white = spectrumOf(make(4000, 0.1231, () => 50 * random.normal()));
      expect(colouredness(white.spectrum)).toBe(1);
      const line = spectrumOf(make(4000, 0.1231, (n) => 50 * random.normal() + 60 * Math.cos(0.9 * n)));
      expect(colouredness(line.spectrum)).toBe(1);
      let x = 0;
      const rho = 0.8;
      const coloured = spectrumOf(
        make(20000, 0.1231, () => {
          x = rho * x + random.normal();
          return 50 * x;
        }),
      );
      // First-order autoregression: Σ ρ_k² = (1 + ρ²)/(1 − ρ²) = 4.56 (closed form). Few strong bins: known to about 10 %.
      expect(Math.abs(colouredness(coloured.spectrum) / ((1 + rho ** 2) / (1 - rho ** 2)) - 1)).toBeLessThan(0.35);
    }
  });
});
