import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { applyTable, type CorrectionTable, correctionTable, tablePoints } from "../../lib/trim/correctionTable.ts";
import { ACCUMULATORS } from "../../lib/trim/fixedPoint.ts";

/** The same arithmetic in whole numbers of any size, checking every intermediate value as it goes. */
function slowly(t: CorrectionTable, code: number): number {
  const most = 2n ** BigInt(t.accumulator - 1) - 1n;
  const hold = (x: bigint): bigint => {
    if (x > most || x < -most) throw new Error(`overflow: ${x} in ${t.accumulator} bits`);
    return x;
  };
  const y = hold(BigInt(code));
  const i = Number(y >> BigInt(t.stepShift));
  const here = BigInt(t.entries[i]!);
  const r = y & (2n ** BigInt(t.stepShift) - 1n);
  const rise = hold(hold(BigInt(t.entries[i + 1]!) - here) * r);
  const sum = hold(hold(hold(here * 2n ** BigInt(t.stepShift)) + rise) + BigInt(t.addend));
  if (sum < 0n) throw new Error(`a negative sum is shifted: ${sum}`);
  const corrected = hold(hold(y - BigInt(t.bias)) + (sum >> BigInt(t.stepShift + t.fraction)));
  return Number(corrected < 0n ? 0n : corrected > BigInt(t.topCode) ? BigInt(t.topCode) : corrected);
}

/** Inputs of a converter that reads wrong by a parabola and a line, code by code. */
function inputs(bits: number, offset: number, bow: number) {
  const scale = scaleOf({ bits, low: 0, high: 1, firstTransition: 0.5 });
  const wanted = (code: number): number => {
    const x = code / scale.topCode;
    return code - offset * (1 - x) - bow * 4 * x * (1 - x);
  };
  const volts = Float64Array.from({ length: scale.topCode + 1 }, (_, code) => wanted(code) * scale.lsb);
  return {
    scale,
    wanted,
    inputs: { volts, stride: 1, measured: volts.length, from: "transitions" as const, shape: null, occurs: () => true },
  };
}

describe("correctionTable", () => {
  it("never overflows its accumulator nor shifts a negative number, and agrees with arithmetic of any width", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4, max: 12 }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: -30, max: 30, noNaN: true }),
        fc.constantFrom(...ACCUMULATORS),
        fc.nat(),
        (bits, offset, bow, accumulator, pick) => {
          const made = inputs(bits, offset, bow);
          const offered = tablePoints(made.scale.topCode);
          const table = correctionTable(made.scale, made.inputs, offered[pick % offered.length]!, accumulator);
          if (table === null) return accumulator === 16;
          for (let code = 0; code <= made.scale.topCode; code += 7)
            if (applyTable(table, code) !== slowly(table, code)) return false;
          return applyTable(table, made.scale.topCode) === slowly(table, made.scale.topCode);
        },
      ),
      { numRuns: 300 },
    );
  });

  it("takes a bow out down to rounding", () => {
    const { scale, wanted, inputs: given } = inputs(12, 5, 4);
    const table = correctionTable(scale, given, 33, 32)!;
    let worst = 0;
    for (let code = 0; code <= 4095; code++)
      worst = Math.max(worst, Math.abs(applyTable(table, code) - Math.max(0, Math.min(4095, wanted(code)))));
    // Half a code of rounding; a chord misses the parabola by 4/32² = 0.004 LSB; entries are rounded to 2^−fraction LSB.
    expect(worst).toBeLessThan(0.5 + 0.004 + 2 ** -table.fraction);
  });

  it("averages over single wide and narrow codes instead of following them", () => {
    const { scale, inputs: given } = inputs(12, 0, 0);
    const volts = given.volts.map((v, code) => v + (code % 2 === 0 ? 0.4 : -0.4) * scale.lsb);
    const table = correctionTable(scale, { ...given, volts }, 17, 32)!;
    // ±0.4 LSB alternating over 256 codes a node averages to below 0.4·2/256.
    expect(Math.max(...table.entries.map(Math.abs)) / 2 ** table.fraction).toBeLessThan(0.01);
  });

  it("offers one more than powers of two and refuses others", () => {
    expect(tablePoints(255)).toEqual([3, 5, 9, 17, 33, 65, 129, 257]);
    const { scale, inputs: given } = inputs(8, 0, 0);
    expect(() => correctionTable(scale, given, 20, 32)).toThrow(RangeError);
  });
});
