import { describe, expect, it } from "vitest";
import { measuredCode, trippingPoint } from "../../lib/plan/trippingPoint.ts";
import type { ResultCapture } from "../../lib/result.ts";

const capture = (transitions: ResultCapture["transitions"], limits: unknown[] = []): ResultCapture =>
  ({
    name: "histogram",
    transitions,
    stimulus: { kind: "sine", limits },
    converter: { low: 0, scale: { bits: 2, lsb: 1, firstTransition: 0.5, topCode: 3 } },
  }) as unknown as ResultCapture;

const MEASURED = {
  codes: [1, 2, 3],
  volts: [0.6, 1.4, null],
  standard: [0.01, 0.02, null],
  inl: [0, 0, null],
  dnl: [0, null, null],
};

describe("trippingPoint", () => {
  it("gives the measured transition, its interval at 95 %, and its shift from the ideal", () => {
    const point = trippingPoint(capture(MEASURED), 1, 0.5);
    expect(point).toMatchObject({ volts: 0.6, shift: expect.closeTo(0.1, 12), uncertainty: expect.closeTo(0.0196, 4) });
  });

  it("takes in what the source states", () => {
    // ± 1 % of 0.4 V about 1.0 V is a rectangle of 4 mV beside 10 mV of noise: 20.9 mV by convolution, more than 19.6 mV alone.
    const limits = [{ from: "source amplitude", kind: "scale", halfWidth: 0.01, pivot: 1 }];
    const point = trippingPoint(capture(MEASURED, limits), 1, 0.5) as { uncertainty: number };
    expect(point.uncertainty).toBeGreaterThan(0.0196);
    expect(point.uncertainty).toBeLessThan(0.0196 + 0.004);
  });

  it("says why there is none", () => {
    expect(trippingPoint(capture(null), 1, 0.5)).toMatchObject({ reason: expect.stringMatching(/no transitions/) });
    expect(trippingPoint(capture(MEASURED), 3, 2.5)).toMatchObject({ reason: expect.stringMatching(/not exercised/) });
    expect(trippingPoint(capture(MEASURED), 9, 2.5)).toMatchObject({ reason: expect.stringMatching(/codes 1 to 3/) });
    expect(trippingPoint(capture({ ...MEASURED, codes: [1, 3, 5] }), 2, 2.5)).toMatchObject({
      reason: expect.stringMatching(/keeps only some/),
    });
  });
});

describe("measuredCode", () => {
  const whole = { ...MEASURED, volts: [0.6, 1.4, 2.6] };

  it("counts the transitions at or below the voltage", () => {
    for (const [volts, code] of [
      [0.5, 0],
      [0.6, 1],
      [1.3, 1],
      [1.4, 2],
      [2.7, 3],
    ] as const)
      expect(measuredCode(capture(whole), volts)).toBe(code);
  });

  it("does not guess where the next transition was not measured", () => {
    expect(measuredCode(capture(MEASURED), 2)).toBeNull();
    expect(measuredCode(capture({ ...whole, codes: [2, 3, 3] }), 0.1)).toBeNull();
    expect(measuredCode(capture(null), 1)).toBeNull();
  });
});
