import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Random, seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";
import { sineStart } from "../../lib/signal/sineStart.ts";
import { sineSums } from "../../lib/signal/sineSums.ts";
import { isUsable } from "../../lib/signal/usableCodes.ts";

interface Sine {
  f: number;
  A: number;
  C: number;
  phase: number;
}
const at = ({ f, A, C, phase }: Sine, n: number): number =>
  C + A * Math.cos(2 * Math.PI * (f * n - Math.floor(f * n)) + phase);
const readings = (M: number, sine: Sine, sigma: number, random: Random): Float64Array =>
  Float64Array.from({ length: M }, (_, n) => at(sine, n) + (sigma > 0 ? sigma * random.normal() : 0));
const angleBetween = (a: number, b: number): number => {
  const turns = (a - b) / (2 * Math.PI);
  return 2 * Math.PI * Math.abs(turns - Math.round(turns));
};

describe("sineFit", () => {
  it("recovers any noise-free tone from half a cycle to near half the rate", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 12, max: 3000 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: -3.1, max: 3.1, noNaN: true }),
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: 0.01, max: 1e6, noNaN: true }),
        (M, place, phase, C, A) => {
          const f = (0.5 + place * (M / 2 - 1)) / M;
          const sine = { f, A, C, phase };
          const fit = fitSine(readings(M, sine, 0, seededRandom(1)))!;
          // Rounding of the readings is all the noise there is; below a cycle it is stretched by the fit's conditioning.
          const rounding = 1e-15 * (A + Math.abs(C)) * 1e4;
          expect(Math.abs(fit.cyclesPerReading - f) * M).toBeLessThan(1e-6 + rounding / A);
          expect(Math.abs(fit.amplitude - A)).toBeLessThan(1e-6 * A + 10 * rounding);
          expect(Math.abs(fit.offset - C)).toBeLessThan(1e-6 * A + 10 * rounding);
          expect(angleBetween(fit.phase, phase)).toBeLessThan(1e-5 + (10 * rounding) / A);
        },
      ),
      { numRuns: 150, seed: 3 },
    );
  });

  it("never does worse than the true sine, with noise up to a tenth of the amplitude", () => {
    const random = seededRandom(5);
    for (let run = 0; run < 300; run++) {
      const M = Math.round(16 * 2 ** (8 * random.uniform()));
      const f = (0.6 + random.uniform() * (M / 2 - 1.2)) / M;
      const sigma = 0.1 * random.uniform();
      const sine = { f, A: 1, C: 3, phase: 6.28 * random.uniform() };
      const y = readings(M, sine, sigma, random);
      const truth = y.reduce((sum, v, n) => sum + (v - at(sine, n)) ** 2, 0);
      const fit = fitSine(y)!;
      // The least-squares minimum lies below any other sine's remainder.
      expect(fit.rss, `M ${M}, ${f * M} cycles`).toBeLessThanOrEqual(truth * (1 + 1e-9));
    }
  });

  it("fits a heavily clipped tone from the readings between the rails", () => {
    const random = seededRandom(8);
    for (const drive of [1.02, 1.3, 3]) {
      const sine = { f: 0.0123457, A: 128 * drive, C: 127.5, phase: 0.3 };
      const y = readings(4000, sine, 0.3, random).map((v) => Math.max(0, Math.min(255, Math.round(v))));
      const fit = fitSine(y, { usable: { floor: 0, ceiling: 255 } })!;
      expect(fit.readings).toBe(y.filter((v) => v > 0 && v < 255).length);
      // Uncertainty of the amplitude from readings near the middle only grows with the drive: five times the fit's own statement.
      expect(Math.abs(fit.amplitude - sine.A)).toBeLessThan(5 * fit.standard.amplitude);
      expect(Math.abs(fit.cyclesPerReading - sine.f)).toBeLessThan(5 * fit.standard.cyclesPerReading);
    }
  });

  it("a stretch keeps the phase of the record's reading 0", () => {
    const sine = { f: 0.0371, A: 100, C: 500, phase: -1.2 };
    const y = readings(5000, sine, 0, seededRandom(1));
    const fit = fitSine(y, { first: 1234, last: 4321 })!;
    expect(fit.readings).toBe(3088);
    expect(angleBetween(fit.phase, sine.phase)).toBeLessThan(1e-8);
  });

  it("a record of a million readings is as exact as a short one, quick tone or slow", () => {
    const random = seededRandom(4);
    for (const f of [0.23456789, 0.49999, 3.3e-6]) {
      const sine = { f, A: 2000, C: 2048, phase: 2.2 };
      const codes = Int32Array.from(readings(1e6, sine, 0.5, random), Math.round);
      const fit = fitSine(codes)!;
      // Five of its own standard uncertainties, all four.
      expect(Math.abs(fit.cyclesPerReading - f)).toBeLessThan(5 * fit.standard.cyclesPerReading);
      expect(angleBetween(fit.phase, sine.phase)).toBeLessThan(5 * fit.standard.phase);
      expect(Math.abs(fit.amplitude - sine.A)).toBeLessThan(5 * fit.standard.amplitude);
      expect(Math.abs(fit.offset - sine.C)).toBeLessThan(5 * fit.standard.offset);
      // Noise 0.5 and rounding 1/12: √(0.25 + 0.0833) = 0.5774, known to 0.07 %.
      expect(Math.abs(fit.residualRms / 0.57735 - 1)).toBeLessThan(0.004);
    }
  });

  it("three parameters keep the frequency", () => {
    const y = readings(1000, { f: 0.1, A: 1, C: 0, phase: 0 }, 0.01, seededRandom(2));
    const fit = fitSine(y, { frequency: 0.1001, fixed: true })!;
    expect(fit.cyclesPerReading).toBe(0.1001);
    expect(fit.parameters).toBe(3);
    expect(fit.standard.cyclesPerReading).toBe(0);
    expect(fit.rss).toBeGreaterThan(fitSine(y)!.rss);
  });

  it("has no fit for nothing, one reading, equal readings, or no more readings than parameters", () => {
    expect(fitSine([])).toBeNull();
    expect(fitSine([5])).toBeNull();
    expect(fitSine(new Int32Array(100).fill(7))).toBeNull();
    expect(fitSine([1, 2, 3, 4])).toBeNull();
    expect(fitSine(new Int32Array(100).fill(255), { usable: { floor: 0, ceiling: 255 } })).toBeNull();
  });

  it("refuses a stretch outside the record and a fixed frequency that is not given", () => {
    expect(() => fitSine([1, 2, 3], { first: 2, last: 5 })).toThrow(RangeError);
    expect(() => fitSine([1, 2, 3], { fixed: true })).toThrow(RangeError);
  });
});

describe("sineSums", () => {
  it("equals the sums reading by reading, with and without readings left out", () => {
    const random = seededRandom(6);
    const codes = Int32Array.from({ length: 3000 }, () => Math.round(100 * random.uniform()));
    const model = { frequency: 0.0377, centre: 1600, offset: 50, a: 3, b: -4 };
    for (const usable of [null, { floor: -1, ceiling: 91 }]) {
      const sums = sineSums(codes, 100, 2900, model, usable);
      const g = new Float64Array(5);
      const H = new Float64Array(25);
      let rr = 0;
      for (let n = 100; n <= 2900; n++) {
        if (!isUsable(codes[n]!, usable)) continue;
        const c = Math.cos(2 * Math.PI * model.frequency * (n - model.centre));
        const s = Math.sin(2 * Math.PI * model.frequency * (n - model.centre));
        const u = (n - model.centre) / 1400;
        const r = codes[n]! - 50 - 3 * c + 4 * s;
        const columns = [1, c, s, u * c, u * s];
        rr += r * r;
        columns.forEach((x, i) => {
          g[i]! += x * r;
          columns.forEach((y, j) => {
            H[5 * i + j]! += x * y;
          });
        });
      }
      // 2800 readings of size 50: roundings far below 1e-6.
      sums.g.forEach((v, i) => {
        expect(Math.abs(v - g[i]!)).toBeLessThan(1e-6);
      });
      sums.H.forEach((v, i) => {
        expect(Math.abs(v - H[i]!)).toBeLessThan(1e-7);
      });
      expect(Math.abs(sums.rr / rr - 1)).toBeLessThan(1e-12);
    }
  });
});

describe("sineStart", () => {
  it("is within its grid of the tone, even when half of the readings are left out", () => {
    const values = readings(1000, { f: 0.1234, A: 1, C: 20, phase: 1 }, 0.05, seededRandom(9));
    for (const used of [null, Uint8Array.from({ length: 1000 }, (_, n) => (n % 7 < 4 ? 1 : 0))]) {
      const start = sineStart(values, used)!;
      expect(Math.abs(start.frequency - 0.1234)).toBeLessThanOrEqual(start.spacing);
    }
  });
  it("finds a third of a cycle below a large offset", () => {
    const values = readings(300, { f: 1 / 900, A: 1, C: 1000, phase: 0.5 }, 0, seededRandom(9));
    expect(Math.abs(sineStart(values, null)!.frequency * 300 - 1 / 3)).toBeLessThan(0.1);
  });
});

describe("fitSine near a known fit", () => {
  it("is the fit that a search of its own finds, whatever readings the known one left out", () => {
    const random = seededRandom(5);
    // 12 bits, the sine a little over the top code; 0.7 LSB of noise, 40 000 readings: the frequency is known to 1e-9 cycles a reading.
    const codes = Int32Array.from({ length: 40_000 }, (_, n) =>
      Math.max(
        0,
        Math.min(4095, Math.round(2060 + 2040 * Math.cos(2 * Math.PI * 0.01234 * n + 1) + 0.7 * random.normal())),
      ),
    );
    const usable = { floor: -1, ceiling: 4095 };
    const known = fitSine(codes, { usable });
    const found = fitSine(codes, known === null ? {} : { near: known });
    const alone = fitSine(codes);
    // Both stop within 1e-4 of the frequency's standard uncertainty; a hundredth of one is no figure's matter.
    for (const key of ["cyclesPerReading", "amplitude", "offset", "phase"] as const)
      expect(Math.abs(found![key] - alone![key])).toBeLessThan(0.01 * alone!.standard[key]);
    expect(found!.readings).toBe(40_000);
    expect(known!.readings).toBeLessThan(40_000);
  });
});
