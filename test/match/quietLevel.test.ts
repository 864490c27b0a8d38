import { describe, expect, it } from "vitest";
import { isQuiet } from "../../lib/match/quietLevel.ts";

describe("a quiet level", () => {
  it("of one code, or of two where one is rare, cannot show a block that comes twice", () => {
    expect(isQuiet([1000])).toBe(true);
    // 64·(−0.95·ln 0.95 − 0.05·ln 0.05) = 12.7 where ln(1000·64/1e-5) = 22.6 is asked for.
    expect(isQuiet([950, 0, 50])).toBe(true);
  });
  it("of two codes alike shows it: 64·ln 2 = 44", () => {
    expect(isQuiet([500, 500])).toBe(false);
  });
});
