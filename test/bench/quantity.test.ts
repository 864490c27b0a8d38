import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { DIMENSIONS, type Dimension } from "../../lib/bench/dimensions.ts";
import { parseQuantity } from "../../lib/bench/quantity.ts";

const value = (text: string | number, dimension: Dimension): number | string => {
  const reading = parseQuantity(text, dimension);
  return reading.ok ? reading.value : `${reading.found}; expected ${reading.expected}`;
};

describe("parseQuantity reads what an engineer writes", () => {
  // Expected values: the SI brochure's prefixes and IEC 60062 marking, by hand.
  it.each<[string, Dimension, number]>([
    ["3.3V", "voltage", 3.3],
    ["3.3 V", "voltage", 3.3],
    ["3V3", "voltage", 3.3],
    ["-0.3 V", "voltage", -0.3],
    ["\u22120.3 V", "voltage", -0.3],
    ["3.3 mV", "voltage", 0.0033],
    ["5 \u00b5V", "voltage", 5e-6],
    ["5 \u03bcV", "voltage", 5e-6],
    ["5 uV", "voltage", 5e-6],
    ["1,5 V", "voltage", 1.5],
    ["0,125 V", "voltage", 0.125],
    [".5 V", "voltage", 0.5],
    ["3.3 v", "voltage", 3.3],
    ["20 kHz", "frequency", 20_000],
    ["20khz", "frequency", 20_000],
    ["20\u00a0kHz", "frequency", 20_000],
    ["1 000 Hz", "frequency", 1000],
    ["1e3 Hz", "frequency", 1000],
    ["4 MHz", "frequency", 4e6],
    ["10 mHz", "frequency", 0.01],
    ["4 Mhz", "frequency", 4e6],
    ["997", "frequency", 997],
    ["50 kS/s", "rate", 50_000],
    ["50 ksps", "rate", 50_000],
    ["4k7", "resistance", 4700],
    ["4k7 \u03a9", "resistance", 4700],
    ["4.7 k", "resistance", 4700],
    ["4.7 kohm", "resistance", 4700],
    ["4.7 k\u03a9", "resistance", 4700],
    ["4.7 k\u2126", "resistance", 4700],
    ["2R2", "resistance", 2.2],
    ["100R", "resistance", 100],
    ["8 pF", "capacitance", 8e-12],
    ["8pf", "capacitance", 8e-12],
    ["4n7", "capacitance", 4.7e-9],
    ["50 ppm", "ratio", 5e-5],
    ["1 %", "ratio", 0.01],
    ["0.1%", "ratio", 0.001],
    ["-70 dBc", "level", -70],
    ["10 min", "time", 600],
    ["20 ms", "time", 0.02],
    ["115200 baud", "symbolRate", 115_200],
    ["12 bit", "count", 12],
  ])("%s as %s", (text, dimension, expected) => expect(value(text, dimension)).toBe(expected));

  it("takes a bare number in the base unit and says that it was bare", () => {
    expect(parseQuantity(0.25, "voltage")).toEqual({ ok: true, value: 0.25, bare: true });
    expect(parseQuantity("0.25", "voltage")).toEqual({ ok: true, value: 0.25, bare: true });
    expect(parseQuantity("0.25 V", "voltage")).toEqual({ ok: true, value: 0.25, bare: false });
  });
});

describe("parseQuantity refuses what could mean two things or the wrong thing", () => {
  it.each<[string, Dimension, string]>([
    ["997 V", "frequency", '"997 V" is a voltage; expected a frequency such as 997 Hz'],
    ["20 kHz", "voltage", '"20 kHz" is a frequency; expected a voltage such as 20 V'],
    ["-5 V", "frequency", '"-5 V" is a voltage; expected a frequency such as 997 Hz'],
    ["3 dB", "ratio", '"3 dB" is a level in decibels; expected a ratio such as 0.5 % or 20 ppm'],
    ["12 foo", "voltage", '"12 foo" has the unit "foo", which is not known here; expected a voltage such as 12 V'],
    ["5 MV", "voltage", '"5 MV" is a voltage in MV (mega); m is milli; expected a voltage such as 5 V'],
    ["fast", "voltage", '"fast" is not a quantity; expected a voltage such as 1.25 V'],
    ["", "voltage", '"" is not a quantity; expected a voltage such as 1.25 V'],
    ["12.5.3 V", "voltage", '"12.5.3 V" is not a quantity; expected a voltage such as 1.25 V'],
    ["1e999 V", "voltage", '"1e999 V" is too large; expected a voltage such as 1.25 V'],
    [
      "1,000 Hz",
      "frequency",
      '"1,000 Hz" could be 1000 or 1.000; expected a point for the decimals and no sign between thousands',
    ],
    ["10 m", "time", '"10 m" has the unit "m", which is not known here; expected a time such as 10 s'],
  ])("%s as %s", (text, dimension, expected) => expect(value(text, dimension)).toBe(expected));

  it("does not guess whether mhz is milli or mega", () => {
    expect(parseQuantity("4 mhz", "frequency")).toMatchObject({
      ok: false,
      code: "ambiguous-quantity",
      expected: "4 mHz or 4 MHz",
    });
  });

  it("refuses numbers that are none", () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY]) expect(parseQuantity(bad, "voltage").ok).toBe(false);
  });
});

describe("properties", () => {
  const dimensions = Object.keys(DIMENSIONS) as Dimension[];

  it("never throws and never returns a number that is not finite, whatever the text", () =>
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), fc.constantFrom(...dimensions), (text, dimension) => {
        const reading = parseQuantity(text, dimension);
        return reading.ok ? Number.isFinite(reading.value) : reading.found !== "" && reading.expected !== "";
      }),
    ));

  it("reads back any finite number with any prefix exactly as the decimal text says", () =>
    fc.assert(
      fc.property(
        fc.integer({ min: -99_999, max: 99_999 }),
        fc.constantFrom(["p", -12], ["n", -9], ["u", -6], ["m", -3], ["", 0], ["k", 3]),
        (n, [prefix, power]) => {
          expect(value(`${n / 1000} ${prefix}V`, "voltage")).toBe(Number(`${n}e${Number(power) - 3}`));
        },
      ),
    ));
});
