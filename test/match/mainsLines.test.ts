import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { foldedFrequency } from "../../lib/match/foldedFrequency.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { LEVEL, simulated, spec } from "./simulatedRecord.ts";

const triangle = (cycles: number, readings: number, rate: number): Stimulus => ({
  kind: "triangle",
  low: -0.01,
  high: 2.51,
  frequency: (cycles * rate) / readings,
  accuracy: LEVEL,
});
const steps = (count: number, each: number): Stimulus => ({
  kind: "steps",
  column: null,
  levels: Array.from({ length: count }, (_, i) => ({ voltage: 0.06 + (2.38 * i) / (count - 1), readings: each })),
  direction: "up",
  accuracy: LEVEL,
});
const found = (stimulus: Stimulus, rate: number, readings: number, faults: string[], seed: number) =>
  matchRecord(
    simulated(spec(stimulus, { sampleRate: rate }), ["noise=0.5", "bow=1", "dnl=0.1", ...faults], {
      readings,
      seed,
      converterSeed: seed,
    }).record,
  );

describe("hum of 3 LSB", () => {
  it.each([
    ["a triangle of 5 cycles in 20 periods of the mains", triangle(5, 1000, 2500), 2500, 1000],
    ["a triangle of 3.3 cycles", triangle(3.3, 2000, 5000), 5000, 2000],
    ["a triangle of 13.7 cycles", triangle(13.7, 4096, 10_000), 10_000, 4096],
    ["levels that last three quarters of a period", steps(33, 15), 1000, 495],
    ["levels that last a third of a period", steps(33, 33), 5000, 1089],
    ["levels that last two periods and a quarter", steps(33, 15), 333, 495],
  ])("shows in %s", (_, stimulus, rate, readings) => {
    for (let seed = 1; seed <= 5; seed++) {
      const { hum } = found(stimulus, rate, readings, ["hum=3"], seed);
      expect(hum?.mains).toBe(50);
      // Levels cut a line to pieces, whose sidebands pull it by less than a bin.
      for (const { order, cycles } of hum!.lines)
        expect(Math.abs(cycles - foldedFrequency((order * 50) / rate))).toBeLessThan(1 / readings);
      expect(found(stimulus, rate, readings, [], seed).hum).toBeNull();
    }
  });
});
