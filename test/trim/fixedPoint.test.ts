import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ACCUMULATORS, applyFixedPoint, fixedPointCorrection } from "../../lib/trim/fixedPoint.ts";

/** The same arithmetic in whole numbers of any size, checking every intermediate value as it goes. */
function slowly(c: NonNullable<ReturnType<typeof fixedPointCorrection>>, code: number): number {
  const most = 2n ** BigInt(c.accumulator - 1) - 1n;
  const hold = (x: bigint): bigint => {
    if (x > most || x < -most) throw new Error(`overflow: ${x} in ${c.accumulator} bits`);
    return x;
  };
  const y = hold(BigInt(code));
  const sum = hold(hold(y * BigInt(c.multiplier)) + BigInt(c.addend));
  if (sum < 0n) throw new Error(`a negative sum is shifted: ${sum}`);
  const corrected = hold(hold(y - BigInt(c.bias)) + (sum >> BigInt(c.shift)));
  return Number(corrected < 0n ? 0n : corrected > BigInt(c.topCode) ? BigInt(c.topCode) : corrected);
}

describe("fixedPointCorrection", () => {
  it("never overflows its accumulator nor shifts a negative number, at any code, and agrees with arithmetic of any width", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 20 }),
        fc.double({ min: 0.8, max: 1.25, noNaN: true }),
        fc.double({ min: -200, max: 200, noNaN: true }),
        fc.constantFrom(...ACCUMULATORS),
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 20, maxLength: 20 }),
        (bits, slope, intercept, accumulator, places) => {
          const topCode = 2 ** bits - 1;
          const c = fixedPointCorrection({ slope, intercept }, topCode, accumulator);
          if (c === null) return accumulator === 16;
          for (const code of [0, 1, topCode - 1, topCode, ...places.map((p) => Math.round(p * topCode))]) {
            const exact = Math.max(0, Math.min(topCode, slope * code + intercept));
            const got = applyFixedPoint(c, code);
            if (got !== slowly(c, code)) return false;
            // Rounding to the nearest code costs half of one; the constants' own rounding what the result states. 1e-9: doubles.
            if (Math.abs(got - exact) > 0.5 + c.arithmeticError + 1e-9) return false;
          }
          return true;
        },
      ),
      { numRuns: 2000 },
    );
  });

  it("keeps the corrected code itself inside the accumulator, before it is held at the top", () => {
    // 15-bit codes fill a signed 16-bit accumulator: one LSB more at the top code would wrap round to the bottom.
    const c = fixedPointCorrection({ slope: 1, intercept: 1 }, 32767, 16);
    expect(c).toBeNull();
    const up = fixedPointCorrection({ slope: 1, intercept: 1 }, 32766, 16)!;
    expect(slowly(up, 32766)).toBe(32766);
  });

  it("takes the largest shift: one more would overflow", () => {
    const line = { slope: 1 / 1.005, intercept: -3 / 1.005 };
    const c = fixedPointCorrection(line, 4095, 32)!;
    // The sum spans the correction, some 21 codes, times 2^shift; 2^31 / 21 lies between 2^26 and 2^27.
    expect(c.shift).toBe(26);
    expect(c.largest).toBeLessThan(2 ** 31);
    expect(c.largest).toBeGreaterThan(2 ** 30);
    // Constants rounded to 2^−26: half a unit at 4 095 codes and half for the addend.
    expect(c.arithmeticError).toBeLessThan(4096 * 2 ** -27);
  });

  it("does nothing to an ideal converter's codes", () => {
    const c = fixedPointCorrection({ slope: 1, intercept: 0 }, 255, 16)!;
    for (let code = 0; code <= 255; code++) expect(applyFixedPoint(c, code)).toBe(code);
  });

  it("rounds to nearest, halves upwards, and holds at both ends", () => {
    const up = fixedPointCorrection({ slope: 1, intercept: 0.5 }, 15, 16)!;
    expect([0, 7, 15].map((code) => applyFixedPoint(up, code))).toEqual([1, 8, 15]);
    const down = fixedPointCorrection({ slope: 1, intercept: -2.75 }, 15, 16)!;
    expect([0, 1, 2, 3, 15].map((code) => applyFixedPoint(down, code))).toEqual([0, 0, 0, 0, 12]);
  });

  it("refuses 16-bit codes in a signed 16-bit accumulator", () => {
    expect(fixedPointCorrection({ slope: 1, intercept: 0 }, 65535, 16)).toBeNull();
    expect(fixedPointCorrection({ slope: 1, intercept: 0 }, 65535, 32)).not.toBeNull();
  });

  it("takes a code beyond the top as the top code", () => {
    const c = fixedPointCorrection({ slope: 1.01, intercept: 0 }, 1023, 32)!;
    expect(applyFixedPoint(c, 5000)).toBe(applyFixedPoint(c, 1023));
  });
});
