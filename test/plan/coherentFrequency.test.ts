import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { coherentFrequency, gcd } from "../../lib/plan/coherentFrequency.ts";

describe("coherentFrequency", () => {
  it("finds a record length that makes a settable frequency exact, where the timing gives an awkward rate", () => {
    // 4 MHz over 39 clocks: only cycles that bring the 39 along can be set in tenths of a hertz.
    const choice = coherentFrequency({ rate: 4e6 / 39, wanted: 1000, readings: 3800, longest: 4800, step: 0.1 });
    expect(Math.abs(choice.residualCycles)).toBeLessThan(1e-6);
    expect(Math.abs(choice.frequency - 1000)).toBeLessThan(50);
    expect(gcd(choice.cycles, choice.readings)).toBe(1);
  });

  it("takes the wanted frequency itself where it is coherent", () => {
    // 997 cycles in 50 000 readings at 50 kHz: 997 is prime, and 0.1 Hz steps reach it.
    expect(coherentFrequency({ rate: 50e3, wanted: 997, readings: 50_000, step: 0.1 })).toMatchObject({
      cycles: 997,
      frequency: 997,
      residualCycles: 0,
      isPrime: true,
    });
  });

  it("says how far a coarse step stays off whole cycles", () => {
    // One hertz is 0.2 cycle of this record, so the nearest settable frequency is at most half of that off.
    const choice = coherentFrequency({ rate: 10_000, wanted: 500, readings: 2000, step: 1 });
    expect(choice.frequency % 1).toBe(0);
    expect(Math.abs((choice.frequency * choice.readings) / 10_000 - choice.cycles)).toBeCloseTo(
      Math.abs(choice.residualCycles),
      9,
    );
  });

  it("keeps harmonics 2 to 10 apart where it can", () => {
    // fs/4 would put the third harmonic onto the tone and the even ones onto DC; the neighbours do not.
    const { cycles, readings } = coherentFrequency({ rate: 1000, wanted: 250, readings: 1000 });
    const bins = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map((h) => {
      const r = (h * cycles) % readings;
      return Math.min(r, readings - r);
    });
    expect(new Set(bins).size).toBe(10);
    expect(Math.min(...bins)).toBeGreaterThan(0);
  });

  it("handles a tone above the rate, a tone near DC and the shortest record", () => {
    expect(coherentFrequency({ rate: 1000, wanted: 2300, readings: 1000 }).cycles).toBeGreaterThan(2000);
    expect(coherentFrequency({ rate: 1000, wanted: 1e-6, readings: 1000 }).cycles).toBe(1);
    expect(coherentFrequency({ rate: 1000, wanted: 300, readings: 2 }).cycles).toBe(1);
  });

  it("refuses what is no number", () => {
    expect(() => coherentFrequency({ rate: 0, wanted: 1, readings: 10 })).toThrow(RangeError);
    expect(() => coherentFrequency({ rate: 1, wanted: Number.NaN, readings: 10 })).toThrow(RangeError);
    expect(() => coherentFrequency({ rate: 1, wanted: 1, readings: 1.5 })).toThrow(RangeError);
  });

  it("always shares no factor, is a multiple of the step, and states its residual", () =>
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 20_000 }),
        fc.integer({ min: 100, max: 1_000_000 }),
        fc.double({ min: 0.001, max: 0.49, noNaN: true }),
        fc.constantFrom(null, 0.01, 0.1, 1),
        fc.boolean(),
        (readings, rate, share, step, prime) => {
          const choice = coherentFrequency({ rate, wanted: share * rate, readings, step, prime });
          expect(gcd(choice.cycles, readings)).toBe(1);
          expect(choice.distinctPhases).toBe(readings);
          expect(choice.coherent).toBeCloseTo((choice.cycles * rate) / readings, 6);
          if (step !== null)
            expect(Math.abs(Math.round(choice.frequency / step) * step - choice.frequency)).toBeLessThan(1e-6);
          const cycles = (choice.frequency * readings) / rate;
          expect(cycles - choice.cycles).toBeCloseTo(choice.residualCycles, 6);
        },
      ),
      { numRuns: 200 },
    ));
});
