import fc from "fast-check";
import { expect, it } from "vitest";
import { significantDigits } from "../../lib/signal/significantDigits.ts";

const byText = (v: number, digits: number): number | null =>
  Number.isFinite(v) ? Number(v.toPrecision(digits)) || 0 : null;

it("gives the double nearest to the decimal that toPrecision writes", () => {
  fc.assert(
    fc.property(fc.array(fc.double()), fc.integer({ min: 1, max: 12 }), (values, digits) => {
      expect(significantDigits(Float64Array.from(values), digits)).toEqual(values.map((v) => byText(v, digits)));
    }),
  );
  fc.assert(
    fc.property(
      fc.array(fc.tuple(fc.integer({ min: -1_000_000_000, max: 1_000_000_000 }), fc.integer({ min: -30, max: 30 }))),
      fc.integer({ min: 1, max: 12 }),
      (decimals, digits) => {
        const values = decimals.map(([whole, power]) => Number(`${whole}e${power}`));
        expect(significantDigits(values, digits)).toEqual(values.map((v) => byText(v, digits)));
      },
    ),
    { numRuns: 1000 },
  );
});

it("is right at ties, beside powers of ten and where there is no number", () => {
  const values = [0.125, -0.125, 2.5, 999.9999999999999, 1000, 1000.0000000000001, 0, -0, 1e-300, 1e300, 0.995];
  for (const digits of [1, 2, 10])
    expect(significantDigits(values, digits)).toEqual(values.map((v) => byText(v, digits)));
  expect(significantDigits([null, Number.NaN, Number.NEGATIVE_INFINITY], 3)).toEqual([null, null, null]);
});
