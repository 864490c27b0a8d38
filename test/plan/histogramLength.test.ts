import { describe, expect, it } from "vitest";
import {
  coherentHistogramReadings,
  histogramOverdrive,
  levelReadings,
  rampHistogramReadings,
  sineHistogramReadings,
} from "../../lib/plan/histogramLength.ts";
import { seededRandom } from "../../lib/signal/random.ts";

describe("sineHistogramReadings", () => {
  it("bounds the mid code's width: simulated at random phases", () => {
    // 6 bits, ± 0.2 LSB at 95 %. 400 histograms: a 95 % share scatters by 1.1 %, so 92–98 % is ± 2.7 standard deviations.
    const bits = 6;
    const tolerance = 0.2;
    const readings = sineHistogramReadings(bits, tolerance);
    const random = seededRandom(7);
    const half = 2 ** (bits - 1);
    let inside = 0;
    for (let trial = 0; trial < 400; trial++) {
      let count = 0;
      for (let n = 0; n < readings; n++) {
        const v = half * Math.cos(2 * Math.PI * random.uniform());
        if (v >= 0 && v < 1) count++;
      }
      const width = (count / readings) * Math.PI * half;
      if (Math.abs(width - 1) <= tolerance) inside++;
    }
    expect(inside / 400).toBeGreaterThan(0.92);
    expect(inside / 400).toBeLessThan(0.98);
  });

  it("refuses what makes no sense", () => {
    expect(() => sineHistogramReadings(8, 0)).toThrow(/tolerance/);
    expect(() => sineHistogramReadings(8, 0.1, 1)).toThrow(/confidence/);
    expect(() => rampHistogramReadings(8, -1)).toThrow(RangeError);
    expect(() => histogramOverdrive(1, 0)).toThrow(RangeError);
    expect(() => levelReadings(1, Number.NaN)).toThrow(RangeError);
  });
});

describe("coherentHistogramReadings", () => {
  /**
   * One code's width by the slow obvious way: readings equally spaced in phase, sorted by input on each slope; a transition is where as many readings are at or above it as
   * the codes say, and the two slopes are averaged.
   */
  function widthErrors(amplitude: number, noise: number, readings: number, trials: number): number[] {
    const random = seededRandom(11);
    const errors: number[] = [];
    for (let trial = 0; trial < trials; trial++) {
      const start = random.uniform() / readings;
      const transition = (level: number): number => {
        let sum = 0;
        for (const slope of [0, 1]) {
          const inputs: number[] = [];
          for (let n = 0; n < readings; n++) {
            const turn = n / readings + start;
            if (turn % 1 < 0.5 === (slope === 0)) inputs.push(amplitude * Math.cos(2 * Math.PI * turn));
          }
          inputs.sort((a, b) => a - b);
          const below = inputs.filter((v) => v + noise * random.normal() < level).length;
          sum += (inputs[below - 1]! + inputs[below]!) / 2;
        }
        return sum / 2;
      };
      errors.push(transition(1) - transition(0) - 1);
    }
    return errors;
  }

  // 300 records: a 95 % share scatters by 1.3 %, so 91–98.5 % is ± 3 standard deviations. Without noise only the grid is left, whose error is bounded and
  // taken at its worst (alike on both slopes), so that more may lie inside.
  it.each([
    [0.5, 0.25, 0.91, 0.985],
    [0.2, 0.1, 0.91, 0.985],
    [0, 0.05, 0.93, 1],
  ])("bounds a mid code's width with %f LSB of noise: simulated", (noise, tolerance, least, most) => {
    const amplitude = 33;
    const readings = coherentHistogramReadings(amplitude, noise, tolerance);
    const errors = widthErrors(amplitude, noise, readings, 300);
    const inside = errors.filter((e) => Math.abs(e) <= tolerance).length / errors.length;
    expect(inside).toBeGreaterThanOrEqual(least);
    expect(inside).toBeLessThanOrEqual(most);
  });

  it("asks for less than random phases do, and for more the more noise there is", () => {
    const quiet = coherentHistogramReadings(2048, 0.05, 0.1);
    const noisy = coherentHistogramReadings(2048, 0.5, 0.1);
    expect(quiet).toBeLessThan(noisy);
    expect(noisy).toBeLessThan(sineHistogramReadings(12, 0.1));
  });
});

describe("levelReadings", () => {
  it("is (zσ/β)², at least two", () => {
    // 1 LSB known to ± 0.196 at 95 %: a hundred readings.
    expect(levelReadings(1, 0.195997)).toBe(100);
    expect(levelReadings(0, 0.1)).toBe(2);
  });
});
