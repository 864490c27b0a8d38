import { describe, expect, it } from "vitest";
import { analyseTone, linePower } from "../../lib/measure/toneAnalysis.ts";
import { harmonicPlaces } from "../../lib/measure/toneHarmonics.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

describe("harmonicPlaces", () => {
  it("a harmonic within a resolution cell of DC or the tone is hidden, one that coincides with a lower one shared", () => {
    // f = fs/5: 2 and 3 coincide, 4 and 6 lie on the tone, 5 and 10 on DC, 7 and 8 on 2.
    const states = Object.fromEntries(harmonicPlaces(0.2, 1000).map((p) => [p.order, p.state]));
    expect(states).toEqual({
      2: "kept",
      3: "shared",
      4: "hidden",
      5: "hidden",
      6: "hidden",
      7: "shared",
      8: "shared",
      9: "hidden",
      10: "hidden",
    });
  });
  it("a coherent neighbour a whole cell away is told apart", () => {
    // J = 333 of 1000: harmonic 2 folds to bin 334, one cell from the tone.
    expect(harmonicPlaces(333 / 1000, 1000)[0]!.state).toBe("kept");
    expect(harmonicPlaces(333.4 / 1000, 1000)[0]!.state).toBe("hidden");
  });
});

describe("harmonics fitted jointly with the tone", () => {
  const make = (M: number, f: number, sigma: number, harmonics: Record<number, number>, seed: number): Int32Array => {
    const random = seededRandom(seed);
    return Int32Array.from({ length: M }, (_, n) => {
      const a = 2 * Math.PI * f * n + 0.7;
      let v = 2 ** 23 + 4e6 * Math.cos(a);
      for (const [h, A] of Object.entries(harmonics)) v += A * Math.cos(Number(h) * a + Number(h));
      return Math.round(v + sigma * random.normal());
    });
  };
  const amplitudes = (codes: Int32Array): Record<number, number> => {
    const analysis = analyseTone(codes, fitSine(codes)!);
    return Object.fromEntries(analysis.harmonics!.lines.map((l) => [l.order, Math.hypot(l.a, l.b)]));
  };
  it("recovers amplitudes without leakage in short, long, coherent and non-coherent records", () => {
    for (const [M, f] of [
      [60, 0.1137],
      [64, 7 / 64],
      [1000, 0.0713],
      [5000, 0.04321],
      [70000, 0.04321],
    ] as const) {
      const found = amplitudes(make(M, f, 0, { 2: 400, 3: 250, 7: 90 }, 1));
      // Rounded to whole codes: each amplitude off by about √(2/M·1/12) times the conditioning of few readings; the tone moved by harmonics in a short record is second order.
      const tolerance = 3 + 30 / Math.sqrt(M);
      expect(Math.abs(found[2]! - 400), `M ${M}`).toBeLessThan(tolerance);
      expect(Math.abs(found[3]! - 250), `M ${M}`).toBeLessThan(tolerance);
      expect(Math.abs(found[7]! - 90), `M ${M}`).toBeLessThan(tolerance);
      expect(found[5]!).toBeLessThan(tolerance);
    }
  });
  it("in noise alone each harmonic shows the power that its spread promises, near half the rate too", () => {
    // f = 1/4 puts harmonic 2 on half the rate, where one component only can be seen.
    for (const f of [0.0931, 0.2217, 0.41, 0.25]) {
      let ratio = 0;
      let lines = 0;
      let debiased = 0;
      for (let seed = 1; seed <= 150; seed++) {
        const analysis = analyseTone(
          make(120, f, 900, {}, seed),
          fitSine(make(120, f, 900, {}, seed), { frequency: f })!,
        );
        for (const line of analysis.harmonics!.lines) {
          ratio += (line.a ** 2 + line.b ** 2) / (900 ** 2 * line.spread);
          debiased += linePower(line, 900 ** 2) / ((900 ** 2 * line.spread) / 2);
          lines++;
        }
      }
      // A χ² of two degrees of freedom each: the mean of `lines` of them is known to 1/√lines (√2 that at half the rate); four of these.
      const four = (4 * Math.SQRT2) / Math.sqrt(lines);
      expect(Math.abs(ratio / lines - 1), `f ${f}`).toBeLessThan(four);
      expect(Math.abs(debiased / lines), `f ${f}`).toBeLessThan(2 * four);
    }
  });
  it("leaves noise that is made up for the parameters", () => {
    let sum = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const codes = make(60, 0.1137, 900, {}, seed);
      sum += analyseTone(codes, fitSine(codes)!).noise! / 900 ** 2 / 200;
    }
    // 200 records of 38 degrees of freedom: 1.6 %; four of these.
    expect(Math.abs(sum - 1)).toBeLessThan(0.065);
  });
});

describe("a harmonic that leaks into the tone", () => {
  it("is fitted together with it, so that level and NAD hold in short records that are not coherent", () => {
    for (const M of [60, 1000]) {
      for (const off of [0.45, 1.5]) {
        // f = 1/3 + off/M: harmonic 2 folds to 3·off cells from the tone.
        const f = 1 / 3 + off / M;
        const runs = 60;
        let nad = 0;
        let error = 0;
        let stated = 0;
        for (let seed = 1; seed <= runs; seed++) {
          const random = seededRandom(seed);
          const [one, two] = [6.28 * random.uniform(), 6.28 * random.uniform()];
          const codes = Int32Array.from({ length: M }, (_, n) => {
            const a = 2 * Math.PI * f * n + one;
            return Math.round(2 ** 23 + 4e6 * Math.cos(a) + 4000 * Math.cos(2 * a + two) + 300 * random.normal());
          });
          const analysis = analyseTone(codes, fitSine(codes)!);
          expect(analysis.together).toBe(true);
          nad += (analysis.nad * analysis.nadCentre) / (4000 ** 2 / 2 + 300 ** 2) / runs;
          error += (Math.sqrt(2 * analysis.tonePower) - 4e6) ** 2 / runs;
          stated += analysis.tonePowerSd ** 2 / (2 * analysis.tonePower) / runs;
        }
        // NAD² is a harmonic of known power and 0.5 % of noise: cross terms of 60 records leave 0.6 % at M = 60.
        expect(Math.abs(nad - 1)).toBeLessThan(0.025);
        // A variance of 60 values is known to 18 %; three of these.
        expect(Math.abs(error / stated - 1)).toBeLessThan(0.55);
      }
    }
  });
});
