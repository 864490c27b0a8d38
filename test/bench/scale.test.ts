import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { codeOfVoltage, idealTransition, scaleOf, voltageOfCode } from "../../lib/bench/scale.ts";

const at = (over: Partial<Parameters<typeof scaleOf>[0]> = {}) =>
  scaleOf({ bits: 3, low: 0, high: 1, firstTransition: 0.5, ...over });

describe("scaleOf", () => {
  it("puts the transitions of a mid-tread 3-bit converter at 0.5 LSB and at FS − 1.5 LSB", () => {
    // CHECKS 14, X4: 3 bit, full scale 1: T1 .0625, T7 .8125 (textbook convention, read in a public source).
    expect(idealTransition(at(), 1)).toBeCloseTo(0.0625, 12);
    expect(idealTransition(at(), 7)).toBeCloseTo(0.8125, 12);
    expect(at().topCode).toBe(7);
  });

  it("puts T[1] one LSB up with firstTransition 1", () => {
    expect(idealTransition(at({ firstTransition: 1 }), 1)).toBeCloseTo(0.125, 12);
  });

  it("reads a code as the middle of its cell, and back", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 24 }), fc.double({ min: 0, max: 1, noNaN: true }), (bits, x) => {
        const scale = at({ bits, firstTransition: x });
        const code = Math.floor(2 ** bits * x);
        // Doubles carry 53 bits; 24 of them are the code's.
        expect(codeOfVoltage(scale, voltageOfCode(scale, code))).toBeCloseTo(code, 6);
        expect(voltageOfCode(scale, code) * 2).toBeCloseTo(
          idealTransition(scale, code) + idealTransition(scale, code + 1),
          9,
        );
      }),
    );
  });

  it("stretches the scale for firmware that sums 16 readings and shifts by 2", () => {
    // 12 bits become 14: the sum of sixteen 4095s is 65 520, shifted 16 380 (CHECKS 6, N10 has the same sum).
    const scale = scaleOf({ bits: 12, low: 0, high: 2.5, firstTransition: 0.5, averaging: { readings: 16, shift: 2 } });
    expect(scale.bits).toBe(14);
    expect(scale.topCode).toBe(16_380);
    expect(scale.lsb).toBeCloseTo(2.5 / 16_384, 15);
  });

  it("keeps the mean of an averaged code at the input that made it", () => {
    // Referee by brute force: an ideal 4-bit converter with input noise, sixteen readings summed and shifted right by 4, so rounded down.
    const averaging = { readings: 16, shift: 4 };
    const scale = scaleOf({ bits: 4, low: 0, high: 16, firstTransition: 0.5, averaging });
    for (const volts of [3.2, 7.77, 11.5]) {
      let sum = 0;
      let state = 12345;
      const uniform = (): number => {
        state = (16807 * state) % 2147483647;
        return state / 2147483647;
      };
      const trials = 20_000;
      for (let i = 0; i < trials; i++) {
        let word = 0;
        // The sum of four uniforms: bell-shaped, sd 4.6 LSB, still 1.15 LSB after averaging, so that rounding down has no pattern of its own.
        for (let j = 0; j < 16; j++)
          word += Math.floor(volts + 8 * (uniform() + uniform() + uniform() + uniform() - 2) + 0.5);
        sum += word >> 4;
      }
      // sd of a logged code about 1.2 LSB over 20 000 trials: 0.0085; four of those. Without the shift's share it would be off by 0.47.
      expect(Math.abs(voltageOfCode(scale, sum / trials) - volts)).toBeLessThan(0.034);
    }
  });

  it("refuses an impossible converter", () => {
    expect(() => at({ bits: 0 })).toThrow(RangeError);
    expect(() => at({ bits: 12.5 })).toThrow(/whole number/);
    expect(() => at({ high: 0 })).toThrow(/above low/);
  });
});
