import { describe, expect, it } from "vitest";
import { repeatedBlocks } from "../../lib/match/repeatedBlocks.ts";
import { survey } from "../../lib/match/survey.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const found = (codes: Int32Array) =>
  repeatedBlocks(codes, null, survey({ codes, scale: { topCode: 65_535 } } as never), false);

/** A level with white noise and hum of a period, LSB. */
function level(readings: number, noise: number, seed: number, hum = 0, period = 20): Int32Array {
  const random = seededRandom(seed);
  return Int32Array.from({ length: readings }, (_, n) =>
    Math.round(1000.3 + noise * random.normal() + hum * Math.sin((2 * Math.PI * n) / period)),
  );
}

describe("blocks of a level that come twice", () => {
  it("are found where their codes are rare enough together: 32 readings of 1 LSB rms", () => {
    // −ln p is 1.4 a reading on average: 45 for 32 of them, where ln(1000·32/1e-5) = 22 is asked for.
    for (let seed = 1; seed <= 20; seed++) {
      const codes = level(1000, 1, seed);
      codes.copyWithin(500, 468, 500);
      const [block] = found(codes);
      expect(block).toMatchObject({ lag: 32 });
      expect(Math.abs(block!.first - 500)).toBeLessThanOrEqual(6);
    }
  });
  it("of a quiet level count by their rare codes", () => {
    // One reading in ten leaves the common code: 0.33 a reading, 83 for 256 of them.
    let seen = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const codes = level(4000, 0.16, seed);
      codes.copyWithin(2000, 1744, 2000);
      if (found(codes).some((b) => b.lag === 256)) seen++;
    }
    expect(seen).toBeGreaterThanOrEqual(17);
  });
  it("are not seen where nothing comes twice: noise of any size, and hum", () => {
    for (let seed = 1; seed <= 60; seed++) {
      const noise = 0.1 * 30 ** (seed / 60);
      expect(found(level(4000, noise, seed))).toEqual([]);
      expect(found(level(4000, noise, seed, 4, 5.56 + seed))).toEqual([]);
    }
  });
});

describe("a buffer that is sent again and again", () => {
  // As a real log of a geophone has it: 6950 readings five times over, with fresh ones between; scaled down.
  it("is found by each copy, although the lag agrees nearly everywhere", () => {
    const fresh = level(5000, 500, 3);
    const buffer = fresh.subarray(0, 900);
    const codes = new Int32Array(5 * 900 + 4 * 40 + 400);
    let at = 0;
    for (let copy = 0; copy < 5; copy++) {
      codes.set(buffer, at);
      codes.set(fresh.subarray(1000 + 40 * copy, 1040 + 40 * copy), at + 900);
      at += 940;
    }
    codes.set(fresh.subarray(2000, 2000 + codes.length - at), at);
    const blocks = found(codes);
    expect(blocks.map((b) => b.lag)).toEqual([940, 940, 940, 940]);
    expect(blocks.map((b) => b.first)).toEqual([940, 1880, 2820, 3760]);
    expect(blocks.every((b) => b.length === 900)).toBe(true);
  });
  it("is no hum whose period the readings follow, quiet or not", () => {
    for (const noise of [0, 0.05, 0.2, 1]) expect(found(level(6000, noise, 5, 40, 50))).toEqual([]);
  });
});
