import { describe, expect, it } from "vitest";
import {
  overdriveFor,
  readingsForDnl,
  readingsForDnlKnownPhase,
  readingsForInl,
  readingsForRampDnl,
} from "../../lib/measure/recordLength.ts";

// The published examples are in test/external/histogramRecordLength.test.ts.
describe("record length", () => {
  it("known phases need fewer readings, and as many as Doernberg's once the noise is large", () => {
    const aim = { bits: 10, halfWidth: 0.1 };
    expect(readingsForDnlKnownPhase({ ...aim, noise: 0.1 })).toBeLessThan(0.3 * readingsForDnl(aim));
    // 1 − ρ(1 LSB) → √π/2·… /σ: within 2 % of the limit at 30 LSB.
    expect(readingsForDnlKnownPhase({ ...aim, noise: 30 }) / readingsForDnl(aim)).toBeCloseTo(1, 1);
  });
  it("without noise the gap between readings still counts", () => {
    const readings = readingsForDnlKnownPhase({ bits: 8, halfWidth: 0.1, noise: 0 });
    // Gap π·128/M at mid-scale: 0.78 of it must be 0.1.
    expect((0.78 * Math.PI * 128) / readings).toBeCloseTo(0.1, 3);
  });
  it("INL with random phases grows as 4^N, with known phases as 2^N", () => {
    expect(readingsForInl({ bits: 11, halfWidth: 0.5 }) / readingsForInl({ bits: 10, halfWidth: 0.5 })).toBeCloseTo(
      4,
      3,
    );
    expect(
      readingsForInl({ bits: 11, halfWidth: 0.5, noise: 1 }) / readingsForInl({ bits: 10, halfWidth: 0.5, noise: 1 }),
    ).toBeCloseTo(2, 2);
  });
  it("without noise an INL is known to half a gap", () => {
    // Mid-scale gap of a sine π·A/M LSB on both slopes together, A = 128: ±half of it must not exceed 0.25.
    const readings = readingsForInl({ bits: 8, halfWidth: 0.25, noise: 0 });
    expect((0.5 * Math.PI * 128) / readings).toBeLessThanOrEqual(0.25);
    expect((0.5 * Math.PI * 128) / (readings - 1)).toBeGreaterThan(0.25);
  });
  it("halving the half-width takes four times the readings", () =>
    expect(
      readingsForRampDnl({ bits: 12, halfWidth: 0.05 }) / readingsForRampDnl({ bits: 12, halfWidth: 0.1 }),
    ).toBeCloseTo(4, 4));
  it.each([
    { bits: 0, halfWidth: 0.1 },
    { bits: 12, halfWidth: 0 },
    { bits: 12, halfWidth: 0.1, confidence: 1 },
    { bits: 12, halfWidth: 0.1, overdrive: -1 },
    { bits: Number.NaN, halfWidth: 0.1 },
  ])("refuses %o", (aim) => expect(() => readingsForDnl(aim)).toThrow(RangeError));
  it("refuses an impossible overdrive question", () => expect(() => overdriveFor(1, 0)).toThrow(RangeError));
});
