import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { LEVEL, simulated, spec } from "./simulatedRecord.ts";

const EACH = 25;
const levels = Array.from({ length: 11 }, (_, i) => ({ voltage: 0.05 + 0.24 * i, readings: EACH }));
const stairs = (both: boolean): Stimulus => ({
  kind: "steps",
  column: null,
  levels: both ? [...levels, ...[...levels].reverse()] : levels,
  direction: both ? "both" : "up",
  accuracy: LEVEL,
});

/** A staircase without `missing` readings from `at` on; the source stays on its last level until the record is full. */
function withLoss(both: boolean, at: number, missing: number) {
  const stimulus = stairs(both);
  if (stimulus.kind !== "steps") throw new Error("steps");
  const readings = EACH * (both ? 22 : 11);
  const { record } = simulated(spec(stimulus), ["noise=1.5"], { readings, seed: at + missing });
  // The same stairs with a longer last level.
  const walked = [...stimulus.levels!];
  walked.push({ ...walked.pop()!, readings: EACH + 100 });
  const longer = { ...stimulus, levels: walked, direction: "up" as const };
  const all = simulated(spec(longer), ["noise=1.5"], { readings: readings + 100, seed: at + missing }).record.codes;
  const codes = Int32Array.from(record.codes, (_, n) => all[n < at ? n : n + missing]!);
  return matchRecord({ ...record, codes }).findings.filter((f) => f.severity !== "note");
}

describe("readings lost among listed levels", () => {
  it.each([
    [false, 60, 7],
    [false, 110, 45],
    [true, 94, 18],
    [true, 294, 63],
  ])("both ways %s, from reading %d on, %d of them: told alone, how many and where", (both, at, missing) => {
    const found = withLoss(both, at, missing);
    expect(found.map((f) => f.id)).toEqual(["readings-lost"]);
    expect(found[0]!.text).toContain(`${missing} readings are missing`);
    const [first, last] = found[0]!.readings[0]!;
    // A level lasts 25 readings and says no more exactly.
    expect(first).toBeLessThanOrEqual(at + 1);
    expect(last).toBeGreaterThanOrEqual(at - 1);
    expect(last - first).toBeLessThanOrEqual(2 * EACH);
  });
  it("a sound staircase, and one whose source is too small, lose none", () => {
    expect(withLoss(true, 9999, 0)).toEqual([]);
    const scaled = stairs(false);
    if (scaled.kind !== "steps") throw new Error("steps");
    const options = { readings: 11 * EACH, seed: 4 };
    const { record: sound } = simulated(spec(scaled), ["noise=1"], options);
    const small = { ...scaled, levels: scaled.levels!.map((l) => ({ ...l, voltage: 0.92 * l.voltage })) };
    const record = { ...sound, codes: simulated(spec(small), ["noise=1"], options).record.codes };
    // One error of gain, about the middle or the bottom, is told once.
    expect(
      matchRecord(record)
        .findings.filter((f) => f.severity !== "note")
        .map((f) => f.id),
    ).toEqual(["amplitude-mismatch"]);
  });
});
