import { describe, expect, it } from "vitest";
import { isMagnitude, parseMetricValue } from "../../lib/bench/metricValue.ts";

describe("parseMetricValue", () => {
  it.each([
    [10.2, "enob", 10.2],
    ["10.2 bit", "enob", 10.2],
    ["10.2 bits", "enob", 10.2],
    ["-65 dB", "thd", -65],
    ["-65 dBc", "thd", -65],
    ["0.1 %", "gainError", 0.1],
    ["2 LSB", "inl", 2],
    ["2", "dnl", 2],
    ["1e-3 LSB/s", "drift", 1e-3],
    ["-120 dBFS/Hz", "noiseFloor", -120],
  ] as const)("%s for %s", (input, metric, expected) => expect(parseMetricValue(input, metric)).toBe(expected));

  it.each([
    ["5 mV", "inl"],
    ["abc", "enob"],
    ["", "enob"],
    [Number.NaN, "enob"],
  ] as const)("%s for %s is refused with the unit", (input, metric) =>
    expect(parseMetricValue(input, metric)).toMatchObject({ expected: expect.stringContaining("a number in") }),
  );

  it("knows whose max bounds a magnitude", () => {
    expect(["inl", "dnl", "offsetError", "gainError"].every((m) => isMagnitude(m as "inl"))).toBe(true);
    expect(isMagnitude("thd")).toBe(false);
  });
});
