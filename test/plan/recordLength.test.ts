/* The record lengths that plans state, against simulated histograms: does the stated share of records hold the stated tolerance? */
import { describe, expect, it } from "vitest";
import { readingsForDnl, readingsForDnlKnownPhase, readingsForInl } from "../../lib/measure/recordLength.ts";
import { seededRandom } from "../../lib/signal/random.ts";

describe("readingsForDnl", () => {
  it("bounds the mid code's width: simulated at random phases", () => {
    // 6 bits, ± 0.2 LSB at 95 %. 400 histograms: a 95 % share scatters by 1.1 %, so 92–98 % is ± 2.7 standard deviations.
    const bits = 6;
    const tolerance = 0.2;
    const readings = readingsForDnl({ bits, halfWidth: tolerance });
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
});

describe("record lengths for known phases", () => {
  /**
   * Errors of two neighbouring transitions by the slow obvious way: readings equally spaced in phase, sorted by input on each slope; a transition is where as many readings
   * are below as the codes say, and the two slopes are averaged.
   */
  function transitionErrors(amplitude: number, noise: number, readings: number, trials: number): [number, number][] {
    const random = seededRandom(11);
    return Array.from({ length: trials }, () => {
      const start = random.uniform() / readings;
      const sums: [number, number] = [0, 0];
      for (const slope of [0, 1]) {
        const inputs: number[] = [];
        for (let n = 0; n < readings; n++) {
          const turn = n / readings + start;
          if (turn % 1 < 0.5 === (slope === 0)) inputs.push(amplitude * Math.cos(2 * Math.PI * turn));
        }
        inputs.sort((a, b) => a - b);
        // One noise value a reading: neighbouring transitions share it, as in a real record.
        const noisy = inputs.map((v) => v + noise * random.normal());
        for (const level of [0, 1] as const) {
          let below = 0;
          for (const v of noisy) if (v < level) below++;
          sums[level] += (inputs[below - 1]! + inputs[below]!) / 2 - level;
        }
      }
      return [sums[0] / 2, sums[1] / 2];
    });
  }

  // 300 records: a 95 % share scatters by 1.3 %, so 91 % is three standard deviations down. A plan may ask for some readings too many, but 99.5 % inside would mean half as
  // many again. Without noise only the grid's bounded error is left, and all may lie inside.
  it.each([
    [0.5, 0.25, 0.995],
    [0.2, 0.1, 0.995],
    [0, 0.05, 1],
  ])("bound a mid code's width with %f LSB of noise: simulated", (noise, halfWidth, most) => {
    const aim = { bits: 6, overdrive: 1, halfWidth, noise };
    const widths = transitionErrors(33, noise, readingsForDnlKnownPhase(aim), 300).map(([a, b]) => b - a);
    const inside = widths.filter((e) => Math.abs(e) <= halfWidth).length / widths.length;
    expect(inside).toBeGreaterThanOrEqual(0.91);
    expect(inside).toBeLessThanOrEqual(most);
  });

  it.each([
    [0.5, 0.25],
    [0.2, 0.1],
  ])("bound a transition with %f LSB of noise: simulated", (noise, halfWidth) => {
    const aim = { bits: 6, overdrive: 1, halfWidth, noise };
    const errors = transitionErrors(33, noise, readingsForInl(aim), 300).map(([a]) => a);
    const inside = errors.filter((e) => Math.abs(e) <= halfWidth).length / errors.length;
    expect(inside).toBeGreaterThanOrEqual(0.91);
    expect(inside).toBeLessThanOrEqual(0.995);
  });
});
