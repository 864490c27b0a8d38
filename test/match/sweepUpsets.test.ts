import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { LEVEL, ramp, simulated, spec } from "./simulatedRecord.ts";

const triangle = (frequency: number): Stimulus => ({
  kind: "triangle",
  low: -0.02,
  high: 2.52,
  frequency,
  accuracy: LEVEL,
});

const ids = (record: Parameters<typeof matchRecord>[0]) =>
  matchRecord(record).findings.filter((f) => f.severity !== "note");

describe("upset readings of a sweep", () => {
  it.each([
    ["steep ramp", ramp(), 500],
    ["ramp", ramp(), 4096],
    ["steep triangle", triangle(700), 500],
    ["triangle", triangle(70), 4096],
  ] as const)("of a %s are no lost or repeated readings", (_, stimulus, readings) => {
    const { record } = simulated(spec(stimulus), ["noise=0.5"], { readings, seed: 8 });
    const codes = record.codes.slice();
    const places = [0.21, 0.48, 0.77].map((x) => Math.round(x * readings));
    for (const n of places) codes[n] = codes[n]! > 2048 ? codes[n]! - 200 : codes[n]! + 200;
    const found = ids({ ...record, codes });
    expect(found.map((f) => f.id)).toEqual(["outliers"]);
    expect(found[0]!.readings).toEqual(places.map((n) => [n, n]));
  });
});

describe("a triangle's frequency", () => {
  it("2 % off what is stated is told, half a per cent is let go", () => {
    const { record } = simulated(spec(triangle(70)), ["noise=0.5"], { readings: 4096, seed: 8 });
    const stated = (frequency: number) => ids({ ...record, stimulus: { ...record.stimulus!, frequency } as never });
    expect(stated(71.4).map((f) => f.id)).toEqual(["frequency-mismatch"]);
    expect(stated(68.6).map((f) => f.id)).toEqual(["frequency-mismatch"]);
    expect(stated(70.2)).toEqual([]);
  });
});
