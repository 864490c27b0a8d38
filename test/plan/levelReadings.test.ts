import { describe, expect, it } from "vitest";
import { levelReadings } from "../../lib/plan/levelReadings.ts";

describe("levelReadings", () => {
  it("is (zσ/β)², at least two", () => {
    // 1 LSB known to ± 0.196 at 95 %: a hundred readings.
    expect(levelReadings(1, 0.195997)).toBe(100);
    expect(levelReadings(0, 0.1)).toBe(2);
  });

  it("refuses what makes no sense", () => {
    for (const tolerance of [0, -1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => levelReadings(1, tolerance)).toThrow(/tolerance/);
    for (const confidence of [0, 1, Number.NaN]) expect(() => levelReadings(1, 0.1, confidence)).toThrow(/confidence/);
  });
});
