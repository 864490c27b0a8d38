import { expect, it } from "vitest";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { LEVEL, simulated, spec } from "./simulatedRecord.ts";

const staircase = (count: number) =>
  spec({
    kind: "steps",
    column: null,
    levels: Array.from({ length: count }, (_, i) => ({ voltage: 0.1 + (2.3 * i) / (count - 1), readings: 80 })),
    direction: "up",
    accuracy: LEVEL,
  });

// Lines planted by the simulator; by the means of the levels alone an exchange of bits 1 and 2 moves some by 2 codes, as a converter's own curve may.
it.each([
  ["1:2", 0.45],
  ["2:3", 0.6],
  ["3:4", 1],
  ["4:5", 1],
])("names the exchanged low lines %s of a staircase with %d LSB of noise", (lines, noise) => {
  const { record } = simulated(staircase(17), [`swapped-bits=${lines}`, `noise=${noise}`], { readings: 17 * 80 });
  const { findings } = matchRecord(record);
  expect(findings.map((f) => f.id)).toContain("stuck-bit");
  expect(findings.find((f) => f.id === "stuck-bit")?.text).toContain(`bits ${lines.replace(":", " and ")} exchanged`);
});

// 60 converters: at a false alarm in a hundred one or none would be expected, and the threshold is meant to be far beyond.
it("accuses no staircase whose lines are in order", () => {
  for (let seed = 1; seed <= 60; seed++) {
    const { record } = simulated(staircase(5 + (seed % 14)), [`noise=${0.1 + (seed % 8) / 4}`, "outliers=2"], {
      readings: (5 + (seed % 14)) * 80,
      seed,
      converterSeed: seed,
    });
    expect(matchRecord(record).findings.map((f) => f.id)).not.toContain("stuck-bit");
  }
});
