import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { distinctPhases, foldResidual } from "../../lib/measure/toneFold.ts";
import { foldedHarmonicSums, harmonicSums } from "../../lib/measure/toneResidual.ts";
import { residualScatter } from "../../lib/measure/toneScatter.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));

/** Source of C3, C4: public encyclopaedia's worked example of coherent sampling, M/gcd(J, M) phases; CHECKS §7. */
describe("distinctPhases", () => {
  it("C3: M = 32, J = 6 repeats after 16 readings; J = 7 meets 32 phases; C4: M = 64, J = 13 meets 64", () => {
    expect(distinctPhases(6 / 32, 32)).toBe(16);
    expect(distinctPhases(7 / 32, 32)).toBe(32);
    expect(distinctPhases(13 / 64, 64)).toBe(64);
  });
  it("is M/gcd(J, M) of any coherent record", () => {
    fc.assert(
      fc.property(fc.integer({ min: 16, max: 100000 }), fc.double({ min: 0.001, max: 0.499, noNaN: true }), (M, f) => {
        const J = Math.max(1, Math.round(f * M));
        if (2 * J >= M) return;
        expect(distinctPhases(J / M, M)).toBe(M / gcd(J, M));
      }),
      { seed: 4 },
    );
  });
  it("knows no repetition in a record that drifts through its phases", () => {
    expect(distinctPhases((Math.sqrt(5) - 1) / 2 / 2, 5000)).toBeNull();
    expect(distinctPhases(0.1 + 0.4 / 1000, 1000)).toBeNull();
  });
});

describe("foldResidual", () => {
  const random = seededRandom(2);
  const make = (M: number, f: number) =>
    Int32Array.from({ length: M }, (_, n) => {
      const a = 2 * Math.PI * (f * n - Math.floor(f * n)) + 0.4;
      return Math.round(2048 + 2000 * Math.cos(a) + 3 * Math.cos(2 * a) + 0.5 * random.normal());
    });
  it("keeps every reading's moments, for records that repeat and that do not", () => {
    for (const [M, f] of [
      [5000, 0.123],
      [5000, 0.12345678],
      [200000, 0.0987654321],
    ] as const) {
      const codes = make(M, f);
      const fit = fitSine(codes)!;
      const { moments, bins } = foldResidual(codes, fit);
      const totals = [0, 0, 0];
      for (let i = 0; i < bins; i++) for (let k = 0; k < 3; k++) totals[k]! += moments[5 * i + k]!;
      expect(totals[0]).toBe(M);
      // The fit's own sums, read again with another rotation: equal to rounding.
      expect(Math.abs(totals[1]!)).toBeLessThan(1e-5 * M);
      expect(Math.abs(totals[2]! / fit.rss - 1)).toBeLessThan(1e-6);
    }
  });
  it("harmonics from phase bins equal those straight from the readings", () => {
    const codes = make(200000, 0.0987654321);
    const fit = fitSine(codes)!;
    const direct = harmonicSums(codes, fit);
    const binned = foldedHarmonicSums(foldResidual(codes, fit));
    for (let h = 2; h <= 10; h++) {
      // Half a bin of 1/16 384 cycle at order h turns a line by at most π·h/16 384; noise sums of size √M·σ feel the same.
      const size = Math.hypot(direct.cos[h]!, direct.sin[h]!) + Math.sqrt(200000) * 0.6;
      expect(Math.abs(binned.cos[h]! - direct.cos[h]!)).toBeLessThan((size * Math.PI * h) / 16384);
      expect(Math.abs(binned.sin[h]! - direct.sin[h]!)).toBeLessThan((size * Math.PI * h) / 16384);
    }
  });
});

describe("residualScatter", () => {
  const none = { order: new Int32Array(0), a: new Float64Array(0), b: new Float64Array(0) };
  const scatterOf = (codes: Int32Array) => {
    const fit = fitSine(codes)!;
    return { fit, scatter: residualScatter(foldResidual(codes, fit), none) };
  };
  it("is the variance itself for noise of several codes", () => {
    const random = seededRandom(3);
    for (const f of [0.1234, 1001 / 8192]) {
      const codes = Int32Array.from({ length: 8192 }, (_, n) =>
        Math.round(2048 + 1900 * Math.cos(2 * Math.PI * ((f * n) % 1)) + 4 * random.normal()),
      );
      const { scatter } = scatterOf(codes);
      // σ² + 1/12; successive differences of 8192 readings know it to √(3/M) = 1.9 %, three of these; Var r² = 2σ⁴ to some 6 %.
      expect(Math.abs(scatter.ofResidual / (16 + 1 / 12) - 1)).toBeLessThan(0.06);
      expect(Math.abs(scatter.ofSquare / (2 * 256) - 1)).toBeLessThan(0.25);
      expect(scatter.slow).toBe(0);
    }
  });
  it("is far less for a quantiser without noise that is met on a fine grid of phases", () => {
    const codes = Int32Array.from({ length: 65536 }, (_, n) =>
      Math.round(128.3 + 100 * Math.cos(2 * Math.PI * ((9973 * n) / 65536))),
    );
    const { fit, scatter } = scatterOf(codes);
    expect(scatter.ofResidual).toBeLessThan(0.05 * fit.residualRms ** 2);
  });
  it("sees noise that swells over the record", () => {
    const random = seededRandom(5);
    const codes = Int32Array.from({ length: 20000 }, (_, n) =>
      Math.round(
        2048 + 1900 * Math.cos(2 * Math.PI * ((0.1234 * n) % 1)) + 3 * (0.3 + (2 * n) / 20000) * random.normal(),
      ),
    );
    expect(scatterOf(codes).scatter.slow).toBeGreaterThan(0);
  });
});
