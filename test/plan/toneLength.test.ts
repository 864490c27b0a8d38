import { describe, expect, it } from "vitest";
import { readingsForBits, readingsForLine, readingsForSpread, readingsForThd } from "../../lib/plan/toneLength.ts";
import { seededRandom } from "../../lib/signal/random.ts";

/**
 * Shares of simulated harmonic powers that lie within ± width dB of the truth: two amplitudes a harmonic, each with noise of variance 2σ²/M, the noise's mean power taken
 * off. A tone of amplitude √2 has power 1, so σ² is 10^(−snr/10).
 */
function shareWithin(thd: number, snr: number, width: number, readings: number, lines: number): number {
  const random = seededRandom(3);
  const spread = Math.sqrt((2 * 10 ** (-snr / 10)) / readings);
  const power = 10 ** (thd / 10);
  let inside = 0;
  for (let trial = 0; trial < 4000; trial++) {
    let total = 0;
    for (let h = 0; h < lines; h++) {
      const a = (h === 0 ? Math.sqrt(2 * power) : 0) + spread * random.normal();
      const b = spread * random.normal();
      total += (a * a + b * b) / 2 - spread * spread;
    }
    if (total > 0 && Math.abs(10 * Math.log10(total / power)) <= width) inside++;
  }
  return inside / 4000;
}

describe("readingsForThd", () => {
  // 4000 draws: 0.35 % of scatter. The formula is linear in dB, which at ± 1 dB costs up to one per cent of coverage: 93–96.5 %.
  it.each([
    [-65, 63, 1],
    [-80, 70, 1],
    [-60, 50, 0.5],
  ])("thd %i dBc at %i dB SNR to ± %f dB: simulated", (thd, snr, width) => {
    const readings = readingsForThd(thd, snr, width);
    const inside = shareWithin(thd, snr, width, readings, 9);
    expect(inside).toBeGreaterThan(0.93);
    expect(inside).toBeLessThan(0.965);
  });

  it("needs less for one line than for nine", () =>
    expect(readingsForLine(-80, 60, 1)).toBeLessThan(readingsForThd(-80, 60, 1)));
});

describe("readingsForBits, readingsForSpread", () => {
  it("go with the inverse square of the width", () => {
    // Four and one readings are spent on parameters, and the result is rounded up.
    expect((readingsForBits(0.01) - 4) / (readingsForBits(0.1) - 4)).toBeCloseTo(100, 0);
    expect((readingsForSpread(0.01) - 1) / (readingsForSpread(0.1) - 1)).toBeCloseTo(100, 0);
  });

  it("refuse a width that is none", () => {
    for (const width of [0, -1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => readingsForBits(width)).toThrow(RangeError);
  });
});
