import { describe, expect, it } from "vitest";
import { survey } from "../../lib/match/survey.ts";
import { seededRandom } from "../../lib/signal/random.ts";

/** Codes of more than one piece, among them some beyond both ends of a 12-bit range. */
function codesOf(spread: number): Int32Array {
  const random = seededRandom(5);
  return Int32Array.from({ length: 50_000 }, () => Math.floor(-20 + (4096 + 40) * spread * random.uniform()));
}

describe("survey", () => {
  for (const [name, spread] of [
    ["codes that are counted in a table", 1],
    ["codes that spread too far for a table", 1000],
  ] as const)
    it(`${name}: as every reading by itself says`, () => {
      const codes = codesOf(spread);
      const seen = survey({ codes, scale: { topCode: 4095 } } as never);
      const all = Array.from(codes);
      expect(seen.readings).toBe(all.length);
      expect(seen.min).toBe(all.reduce((a, b) => Math.min(a, b)));
      expect(seen.max).toBe(all.reduce((a, b) => Math.max(a, b)));
      expect(seen.atBottom).toBe(all.filter((y) => y <= 0).length);
      expect(seen.atTop).toBe(all.filter((y) => y >= 4095).length);
      expect(seen.below).toBe(all.filter((y) => y < 0).length);
      expect(seen.above).toBe(all.filter((y) => y > 4095).length);
      expect(seen.mean).toBeCloseTo(all.reduce((a, b) => a + b) / all.length, 6);
      if (spread > 1) return expect(seen.counts).toBeNull();
      expect(seen.distinct).toBe(new Set(all).size);
      for (const y of [seen.min, 0, 1000, seen.max])
        expect(seen.counts?.[y - seen.min]).toBe(all.filter((x) => x === y).length);
    });

  it("no readings", () => {
    const seen = survey({ codes: new Int32Array(0), scale: { topCode: 4095 } } as never);
    expect([seen.readings, seen.distinct, seen.counts]).toEqual([0, 0, null]);
  });
});
