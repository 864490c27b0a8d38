// Outside checks of trim: the correction line and its fixed-point form, worked by hand on paper, and a closed form.
import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { correctionLine } from "../../lib/trim/correctionLine.ts";
import { applyFixedPoint, fixedPointCorrection } from "../../lib/trim/fixedPoint.ts";

/*
 * 12 bits, 0 to 4.096 V: Q = 1 mV. The converter reads 3 LSB high at 0 V and 0.5 % too steep: G = 1.005, Vos = 3 mV.
 * Solved for the input (IEEE Std 1241-2010, gain and offset): corrected = (y − 3)/1.005 = 0.99502488·y − 2.98507463.
 * In a signed 16-bit accumulator, by hand: slope − 1 = −0.00497512 = −1/201.
 *   shift 10: −1024/201 = −5.0945 → multiplier −5; −2.98507463·1024 = −3056.7 → −3057; half 512.
 *   smallest sum at code 4095: −3057 + 512 − 20475 = −23020, so bias = ⌈23020/1024⌉ = 23; addend = −2545 + 23·1024 = 21007.
 *   shift 11: −2048/201 = −10.19 → −10, −10·4095 = −40950 overflows 16 bits. So 10 it is.
 *   code 2000: 2000 − 23 + ((−10000 + 21007) >> 10) = 1977 + 10 = 1987; exactly 1987.06.
 *   code 4095: 4095 − 23 + ((−20475 + 21007) >> 10) = 4072 + 0 = 4072; exactly 4071.64.
 *   code 3: 3 − 23 + ((−15 + 21007) >> 10) = −20 + 20 = 0; exactly 0.
 *   the constants' rounding is worst at the top: (−5·4095 − 3057)/1024 = −22.98047 against −23.35821: 0.37774 LSB.
 */
describe("trim of a converter that reads 3 LSB and 0.5 % high, 12 bits, 1 mV", () => {
  const scale = scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 });
  const line = correctionLine(scale, 1.005, 3);

  it("has the line of the worked example", () => {
    expect(line.slope).toBeCloseTo(0.99502487562, 10);
    expect(line.intercept).toBeCloseTo(-2.98507462687, 10);
  });

  it("has the 16-bit constants of the worked example", () => {
    const fixed = fixedPointCorrection(line, 4095, 16)!;
    expect(fixed).toMatchObject({ multiplier: -5, addend: 21007, shift: 10, bias: 23 });
    expect([3, 2000, 4095].map((code) => applyFixedPoint(fixed, code))).toEqual([0, 1987, 4072]);
    expect(fixed.arithmeticError).toBeCloseTo(0.37774, 5);
  });
});

/*
 * Bipolar, −1 V to +1 V, 10 bits: Q = 1/512 V, mid-scale code 512 at 0 V. Vos is stated at 0 V, so that a gain error alone leaves code
 * 512 where it is: corrected = 512 + (y − 512)/G. With firstTransition 1 the middle of code 512 is ½ Q above 0 V, and the point that stays is 511.5.
 */
describe("the correction line of a bipolar converter turns about 0 V", () => {
  it.each([
    [0.5, 512],
    [1, 511.5],
  ])("first transition at %s LSB: code %s stays", (firstTransition, still) => {
    const scale = scaleOf({ bits: 10, low: -1, high: 1, firstTransition });
    const line = correctionLine(scale, 1.02, 0);
    expect(line.slope * still + line.intercept).toBeCloseTo(still, 9);
    expect(line.slope * (still + 102) + line.intercept).toBeCloseTo(still + 100, 9);
  });
});
