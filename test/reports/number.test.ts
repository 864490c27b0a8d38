import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { counted, placeOf, plain, prefixFor, quantity, shown, shownText, toPlace } from "../../reports/number.ts";

const interval = (value: number | null, low: number | null, high: number | null, unit = "LSB") => ({
  value,
  low,
  high,
  uncertainty: low === null || high === null ? null : (high - low) / 2,
  unit,
});
const symmetric = (value: number, u: number, unit = "LSB") => interval(value, value - u, value + u, unit);

describe("shown", () => {
  // JCGM 100:2008, 7.2.6, worked example (from memory): y = 10.057 62 Ω with 27 mΩ is given as 10.058 Ω.
  it("rounds 10.05762 Ω with 27 mΩ to 10.058 Ω", () => {
    expect(shownText(symmetric(10.05762, 0.027, "Ω"))).toBe("10.058 ±\u00a00.027\u00a0Ω");
  });

  it("carries into the next place when the uncertainty rounds up to it", () => {
    expect(shown(symmetric(1.23456, 0.0996))).toMatchObject({ value: "1.23", spread: "0.10" });
  });

  it("rounds to tens where the uncertainty says no more", () => {
    expect(shown(symmetric(123_456, 234))).toMatchObject({ value: "123\u202f460", spread: "230" });
  });

  it("shows both sides of an interval that is not symmetric", () => {
    expect(shown(interval(1.9, 1.85, 2.02))).toMatchObject({ value: "1.90", spread: "+0.12 −0.05" });
    expect(shownText(interval(1.9, 1.85, 2.02))).toBe("1.90 (+0.12 −0.05)\u00a0LSB");
  });

  it("shows one end alone as a bound, and neither as a dash", () => {
    expect(shownText(interval(null, null, -78.2, "dBc"))).toBe("≤ −78.2\u00a0dBc");
    expect(shownText(interval(null, 9.8, null, "bit"))).toBe("≥ 9.8\u00a0bit");
    expect(shown(interval(null, null, null)).value).toBe("–");
  });

  it("says that an end is open when the value has only the other", () => {
    expect(shown(interval(0.2, null, 0.32)).spread).toBe("+0.12, open below");
  });

  it("shows the ends themselves when the value lies outside them", () => {
    expect(shown(interval(3, 1, 2)).spread).toMatch(/1\.0 … 2\.0/);
  });

  // Closed form: three digits of the width (here 154, 33.7), the ends rounded outwards.
  it("rounds two ends without a value outwards, by their distance", () => {
    expect(shown(interval(null, 7.28e-13, 153.4)).value).toBe("0 … 154");
    expect(shown(interval(null, -20.64, 13.06)).value).toBe("−20.7 … 13.1");
    expect(shown({ value: null, low: 0, high: 3870, uncertainty: null, unit: "codes" }).value).toBe("0 … 3870");
    expect(shown(interval(null, 0.1, 0.3)).value).toBe("0.100 … 0.300");
  });

  it("puts value and uncertainty into the same prefix", () => {
    expect(shownText(symmetric(0.00123456, 0.0000021, "V"))).toBe("1.2346 ±\u00a00.0021\u00a0mV");
  });

  it("writes a counted figure without decimals and without uncertainty as ± 0", () => {
    expect(shown(symmetric(3, 0))).toMatchObject({ value: "3", spread: "0" });
  });

  it("never shows more than half a unit of the last place away from the value, and U to two significant digits", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-6, max: 1e4, noNaN: true }),
        (value, u) => {
          const read = (t: string): number => Number(t.replace("−", "-").replace(/\u202f/g, ""));
          const s = shown(symmetric(value, u, "dB"));
          const place = placeOf(u);
          // Half the last place, and a little for the binary tail of a decimal fraction.
          expect(Math.abs(read(s.value) - value)).toBeLessThanOrEqual(0.5 * 10 ** -place * (1 + 1e-6) + 1e-9);
          expect(read(s.spread)).toBeGreaterThanOrEqual(u * 0.94);
          expect(read(s.spread)).toBeLessThanOrEqual(u * 1.06);
        },
      ),
    );
  });
});

describe("toPlace", () => {
  it("never writes a negative zero", () => expect(toPlace(-0.04, 1)).toBe("0.0"));
  it("writes a true minus sign", () => expect(toPlace(-2.345, 2)).toBe("−2.35"));
  it("writes a plus when signs matter", () => expect(toPlace(1.83, 2, true)).toBe("+1.83"));
  it("shows what is not finite as a dash", () => expect(toPlace(Number.NaN, 2)).toBe("–"));
});

describe("plain", () => {
  it("keeps significant digits and drops trailing zeros", () => {
    expect(plain(0.000610352, 4)).toBe("0.0006104");
    expect(plain(997)).toBe("997");
    expect(plain(2.5)).toBe("2.5");
  });
  it("writes very large and very small numbers as powers of ten", () => {
    expect(plain(1.5e-9)).toBe("1.5·10^−9");
    expect(plain(2e12)).toBe("2·10^12");
  });
});

describe("quantity", () => {
  it("chooses the prefix an engineer would", () => {
    expect(quantity(0.000610352, "V", 4)).toBe("610.4\u00a0µV");
    expect(quantity(50_000, "Hz")).toBe("50\u00a0kHz");
    expect(quantity(8e-12, "F")).toBe("8\u00a0pF");
    expect(quantity(-0.3, "V")).toBe("−300\u00a0mV");
  });
  it("gives LSB, dB and bits none", () => expect(prefixFor(0.0001, "LSB")).toEqual({ factor: 1, unit: "LSB" }));
});

describe("counted", () => {
  it("groups from five digits on and adds the plural", () => {
    expect(counted(4096)).toBe("4096");
    expect(counted(16_384, "reading")).toBe("16\u202f384 readings");
    expect(counted(1, "reading")).toBe("1 reading");
  });
});
