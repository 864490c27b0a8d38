import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { LEVEL, ramp, simulated, sine, spec, steady } from "./simulatedRecord.ts";

const TRIANGLE: Stimulus = { kind: "triangle", low: -0.02, high: 2.52, frequency: 40, accuracy: LEVEL };

/** Warned findings of a record in which the readings first…last show what the first of them did. */
function warned(stimulus: Stimulus, noise: number, first: number, last: number) {
  const { record } = simulated(spec(stimulus), [`noise=${noise}`], { readings: 4096, seed: 5 });
  const codes = record.codes.slice().fill(record.codes[first]!, first, last + 1);
  return matchRecord({ ...record, codes }).findings.filter((f) => f.severity !== "note");
}

describe("one reading shown again and again", () => {
  it.each([
    ["sine", sine(997), 0.6],
    ["ramp", ramp(), 0.6],
    ["triangle", TRIANGLE, 0.6],
    // Less noise stays at the middle of a wide code for as long.
    ["level", steady(), 1.2],
  ] as const)("while a %s goes on is a repetition, at its place", (_, stimulus, noise) => {
    const found = warned(stimulus, noise, 1500, 1560);
    expect(found.map((f) => f.id)).toEqual(["readings-repeated"]);
    // A neighbour may show the same code by chance.
    const [first, last] = found[0]!.readings[0]!;
    expect(Math.abs(first - 1501)).toBeLessThanOrEqual(2);
    expect(Math.abs(last - 1560)).toBeLessThanOrEqual(2);
  });
  it("is not what a flattened sine, or a quiet and slow one, does", () => {
    const flat = simulated(spec(sine(97)), ["noise=0.02", "clipped=90"], { readings: 8192, seed: 2 });
    expect(matchRecord(flat.record).findings.map((f) => f.id)).not.toContain("readings-repeated");
    const slow = simulated(spec(sine(25)), ["noise=0.02"], { readings: 8192, seed: 2 });
    expect(matchRecord(slow.record).findings.map((f) => f.id)).not.toContain("readings-repeated");
  });
});
