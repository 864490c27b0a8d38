import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { converter, LEVEL, simulated, spec } from "./simulatedRecord.ts";

const READINGS = 4096;
const RATE = 50_000;

/** A triangle of some cycles in the record, over both ends of the range. */
const triangle = (cycles: number, readings = READINGS): Stimulus => ({
  kind: "triangle",
  low: -0.02,
  high: 2.52,
  frequency: (cycles * RATE) / readings,
  accuracy: LEVEL,
});
const findings = (cycles: number, faults: string[], seed = 1, readings = READINGS) =>
  matchRecord(
    simulated(spec(triangle(cycles, readings)), ["noise=0.5", ...faults], { readings, seed }).record,
  ).findings.filter((f) => f.severity !== "note");

describe("a triangle against the one fitted to it", () => {
  it("readings of a fast one that stand apart by 3 % of the range are outliers, at their places", () => {
    // 20.7 cycles in 800 readings move by 212 codes a reading: more than the spike itself, which no neighbours can show.
    const { record } = simulated(spec(triangle(20.7, 800)), ["noise=0.5"], { readings: 800, seed: 3 });
    const codes = record.codes.slice();
    for (const n of [117, 402]) codes[n] = codes[n]! + (codes[n]! < 2048 ? 123 : -123);
    const found = matchRecord({ ...record, codes }).findings.filter((f) => f.severity !== "note");
    expect(found.map((f) => f.id)).toEqual(["outliers"]);
    expect(found[0]!.readings).toEqual([
      [117, 117],
      [402, 402],
    ]);
  });
  it("3.5 % too small is an amplitude mismatch alone", () => {
    // Source and converter account for 0.1 % and 1.5 % of gain, and 2 LSB.
    for (const cycles of [1, 3, 10])
      expect(findings(cycles, ["amplitude=-3.5"]).map((f) => f.id)).toContain("amplitude-mismatch");
    expect(findings(3, ["amplitude=-3.5"]).map((f) => f.id)).toEqual(["amplitude-mismatch"]);
  });
  it("2.5 % of the range off is an offset mismatch although one end is at the rail", () => {
    for (const cycles of [1, 3, 10])
      expect(findings(cycles, ["offset=2.5"]).map((f) => f.id)).toContain("offset-mismatch");
  });
});

describe("less than a cycle of a triangle, from any turn on", () => {
  /** Codes of 12 bits over 2.5 V by the closed form, noise-free. */
  const partOf = (cycles: number, start: number, low: number, high: number, readings = 600) => {
    const stimulus: Stimulus = { ...triangle(cycles, readings), low: 0.1, high: 2.4 } as Stimulus;
    const { record } = simulated(spec(stimulus), [], { readings, seed: 1 });
    const codes = Int32Array.from({ length: readings }, (_, n) => {
      const turn = (start + (cycles * n) / readings) % 1;
      const volts = low + (high - low) * (turn < 0.5 ? 2 * turn : 2 - 2 * turn);
      return Math.max(0, Math.min(4095, Math.round((volts * 4096) / 2.5)));
    });
    return matchRecord({ ...record, codes }).findings.filter(
      (f) => f.severity !== "note" && f.id !== "range-not-exercised",
    );
  };

  it("agrees with what is stated, although apexes are missing", () => {
    // From 0.767 on 0.344 cycles stay in the lower half: 0.07 V to 1.17 V, as a converter of one bit fewer would show them.
    for (const cycles of [0.2, 0.344, 0.45, 0.6, 0.75, 0.95])
      for (const start of [0, 0.0625, 0.125, 0.2, 0.25, 0.34, 0.45, 0.5, 0.56, 0.68, 0.767, 0.9])
        expect(partOf(cycles, start, 0.1, 2.4), `${cycles} cycles from ${start}`).toEqual([]);
  });
  it("an apex that it passes still says that the triangle lies elsewhere", () => {
    // 0.15 V is 6 % of the range; the only apex is the upper one.
    for (const start of [0.15, 0.2, 0.25]) expect(partOf(0.6, start, -0.05, 2.25)).not.toEqual([]);
  });
});

describe("readings lost in a triangle", () => {
  // A triangle of 3 cycles moves by 6 codes a reading and 20.7 cycles turn round every 99 readings; one lost at an apex jumps by nothing.
  it.each([
    [1, 12, 1500],
    [1.5, 20, 3100],
    [3, 4, 1700],
    [10, 7, 2048],
    [20.7, 30, 999],
  ])("%d cycles, %d readings at %d", (cycles, lost, at) => {
    const found = findings(cycles, [`lost=${lost}@${at}`]);
    expect(found.map((f) => f.id)).toEqual(["readings-lost"]);
    const [first, last] = found[0]!.readings[0]!;
    // Where the triangle hardly moves more than noise the place is known to some tens of readings.
    expect(first).toBeLessThanOrEqual(at + 20);
    expect(last).toBeGreaterThanOrEqual(at - 20);
    expect(found[0]!.text).toContain(`${lost} readings are missing`);
  });
  it("at an apex, where nothing jumps", () => {
    // Ten cycles of 409.6 readings that begin at the lowest point: 13 readings about the top of the fourth one.
    const found = findings(10, ["lost=14@1427"]);
    expect(found.map((f) => f.id)).toEqual(["readings-lost"]);
  });
  it("none in quiet, noisy, coarse or averaged records that are sound", () => {
    for (const noise of [0, 0.05, 0.5, 3])
      for (const cycles of [1, 2.3, 5, 20.7])
        expect(findings(cycles, [`noise=${noise}`, "bow=2", "dnl=0.05", "major-carry=1"], 7).map((f) => f.id)).toEqual(
          [],
        );
  });
});

describe("a slow triangle", () => {
  it("tells a jump in readings, whatever its slope", () => {
    // 8 bits and one cycle in 40 000 readings: a code lasts 78 readings, and most readings do not move.
    const stimulus = triangle(1, 40_000);
    const { record } = simulated(spec(stimulus, { converter: converter({ bits: 8 }) }), ["noise=0.1"], {
      readings: 40_000,
    });
    const codes = record.codes.slice();
    codes.copyWithin(5000, 8000, 18_000);
    const found = matchRecord({ ...record, codes }).findings.find((f) => f.id === "readings-lost");
    expect(found?.text).toMatch(/[\d ]+ readings are missing/);
    expect(found?.text).not.toContain("Infinity");
  });
});

describe("a flattened triangle", () => {
  it("is told once, without a smaller amplitude or range", () => {
    expect(findings(3, ["clipped=93"]).map((f) => f.id)).toEqual(["clipped"]);
  });
  it("shows under noise that spreads the plateau", () => {
    expect(findings(3, ["clipped=95", "noise=6"]).map((f) => f.id)).toEqual(["clipped"]);
  });
});
