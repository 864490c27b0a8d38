import { describe, expect, it } from "vitest";
import type { SineFit } from "../../lib/signal/sineFit.ts";
import { type SinePart, sineEnvelopes } from "../../reports/sineEnvelopes.ts";

const sineFit = (more: Partial<SineFit> = {}): SineFit => ({
  cyclesPerReading: 0.0123,
  amplitude: 900,
  offset: 2048,
  phase: 0.7,
  rss: 0,
  residualRms: 0.3,
  readings: 10_000,
  parameters: 4,
  standard: { cyclesPerReading: 0, amplitude: 0, offset: 0, phase: 0 },
  ...more,
});

const COUNT = { blocks: 10, codeSlices: 10, leftSlices: 10 };
const partTo = (last: number): SinePart => ({ first: 0, last, bottom: 0, top: 4095 });

describe("what the sine leaves, in blocks", () => {
  it("agrees with the cosine of each reading to a millionth of an LSB over 100 000 readings", () => {
    const f = sineFit();
    const codes = Int32Array.from({ length: 100_000 }, (_, n) => Math.round(2048 + 900 * Math.cos(0.077 * n)));
    const { each, low, high } = sineEnvelopes(codes, f, partTo(codes.length - 1), { ...COUNT, blocks: 50 }).left;
    for (let b = 0; b < low.length; b++) {
      let lo = Number.POSITIVE_INFINITY;
      let hi = Number.NEGATIVE_INFINITY;
      for (let n = b * each; n < Math.min(codes.length, (b + 1) * each); n++) {
        const r = codes[n]! - f.offset - f.amplitude * Math.cos(2 * Math.PI * f.cyclesPerReading * n + f.phase);
        lo = Math.min(lo, r);
        hi = Math.max(hi, r);
      }
      // 4096 turns of one rounding error each (1.1e-16 of 900 LSB) stay below 1e-9 LSB.
      expect(Math.abs(low[b]! - lo)).toBeLessThan(1e-6);
      expect(Math.abs(high[b]! - hi)).toBeLessThan(1e-6);
    }
  });

  it("is not known of a block at the rails", () => {
    const { left, railed } = sineEnvelopes(Int32Array.of(0, 0, 2048, 2048), sineFit(), partTo(3), {
      ...COUNT,
      blocks: 2,
    });
    expect(left.low[0]).toBeNaN();
    expect(left.low[1]).not.toBeNaN();
    expect(railed).toBe(true);
  });

  it("begins where the part does", () => {
    const codes = Int32Array.from({ length: 40_000 }, (_, n) => 2048 + (n % 7));
    const part = { ...partTo(39_000), first: 5 };
    const { each, low, high } = sineEnvelopes(codes, sineFit({ amplitude: 0 }), part, {
      ...COUNT,
      blocks: 20_000,
    }).left;
    expect(each).toBe(2);
    expect([low[0], high[0], low[1], high[1]]).toEqual([5, 6, 0, 1]);
    expect(low.length).toBe(19_498);
    // Of readings 38 999 and 39 000.
    expect([low.at(-1), high.at(-1)]).toEqual([2, 3]);
  });
});

describe("readings and what the sine leaves of them, laid over a period,", () => {
  const f = sineFit({ cyclesPerReading: 0.25, phase: 0 });

  it("put a reading into the slice of its phase and leave the others empty", () => {
    const { low } = sineEnvelopes(Int32Array.of(10, 20, 30, 40, 11), f, partTo(4), { ...COUNT, codeSlices: 8 }).codes;
    expect([...low]).toEqual([10, Number.NaN, 20, Number.NaN, 30, Number.NaN, 40, Number.NaN]);
  });

  it("average what the sine leaves, rails and other stretches left out", () => {
    const codes = Int32Array.of(4095, 2048, 1148, 2048, 2950, 2048, 1148, 2048, 2952, 2999);
    const { mean } = sineEnvelopes(codes, f, partTo(8), { ...COUNT, leftSlices: 4 }).leftOverPeriod;
    // Closed form: at phase 0 the sine stands at 2948; 2 and 4 are left.
    expect(mean[0]).toBeCloseTo(3, 9);
    expect(mean[2]).toBeCloseTo(0, 9);
  });
});
