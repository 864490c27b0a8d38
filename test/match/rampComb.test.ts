import { describe, expect, it } from "vitest";
import { rampComb } from "../../lib/match/rampComb.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const EVERYWHERE = { floor: 0, ceiling: 4095 };

/** A noisy ramp of a quarter of a code a reading; `missing` readings are left out after every `every` logged. */
function ramp(every: number, missing: number, noise: number, bow = 0, readings = 12_000): Int32Array {
  const random = seededRandom(7);
  return Int32Array.from({ length: readings }, (_, n) => {
    const place = n + (every > 0 ? Math.floor(n / every) * missing : 0);
    const u = (2 * n) / readings - 1;
    return Math.floor(20 + 0.25 * place + bow * (1 - u * u) + noise * random.normal() + 0.5);
  });
}

describe("readings lost at every turn of a buffer, in a ramp", () => {
  it.each([
    [256, 13, 0.6],
    [500, 16, 1],
    [1000, 20, 1.2],
    [333, 12, 0.3],
  ])("every %i readings %i, under noise of %f LSB", (every, missing, noise) => {
    const found = rampComb(ramp(every, missing, noise, 2), EVERYWHERE, 1);
    expect(found?.every).toBe(every);
    expect(Math.abs(found!.first - every)).toBeLessThanOrEqual(3);
    // 0.25 codes a reading: each jump is a quarter of its readings, known to a few parts in a hundred.
    expect(Math.abs(found!.readings - missing)).toBeLessThanOrEqual(2);
  });
  it("is not what a bow or hum leaves", () => {
    expect(rampComb(ramp(0, 0, 0.5, 6), EVERYWHERE, 1)).toBeNull();
    const hum = ramp(0, 0, 0.5).map((y, n) => y + Math.round(4 * Math.cos(n / 50)));
    expect(rampComb(hum, EVERYWHERE, 1)).toBeNull();
  });
});
