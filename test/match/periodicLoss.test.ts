import { describe, expect, it } from "vitest";
import type { CaptureRecord } from "../../lib/capture/record.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { measureTone } from "../../lib/measure/tone.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { converter, simulated, sine, spec } from "./simulatedRecord.ts";

/** A sine record of which `missing` readings are cut out after `first` readings, and then after every `every` again. */
function losing(frequency: number, every: number, missing: number, first = every, seed = 1): CaptureRecord {
  const { record } = simulated(spec(sine(frequency)), [], { readings: 6000, seed, converterSeed: seed });
  const codes = record.codes.filter((_, n) => n < first || (n - first) % (every + missing) >= missing);
  return { ...record, codes };
}

const lossOf = (record: CaptureRecord) => matchRecord(record).findings.find((f) => f.id === "readings-lost");

describe("readings lost at every turn of a buffer", () => {
  // Phase steps of 0.6 to 170 degrees; 50 kS/s. The buffer, count and first place are cut out exactly, so that the answer is a whole number.
  it.each([
    [83.7, 256, 1, 256],
    [137.3, 128, 7, 128],
    [411.1, 64, 11, 40],
    [977.9, 500, 17, 123],
    [2312.7, 256, 9, 256],
  ])("of %d Hz, every %d readings %d, the first after %d", (frequency, every, missing, first) => {
    const record = losing(frequency, every, missing, first);
    const found = lossOf(record);
    expect(found?.severity).toBe("error");
    expect(found?.text).toContain(`Every ${every} readings ${missing} reading`);
    const [a, b] = found!.readings[0]!;
    expect(a).toBeLessThan(first);
    expect(b).toBeGreaterThanOrEqual(first);
    expect(found!.readings.length).toBe(Math.floor((record.codes.length - 1 - first) / every) + 1);
    expect(
      matchRecord(record)
        .findings.filter((f) => f.severity !== "note")
        .map((f) => f.id),
    ).toEqual(["readings-lost"]);
  });

  it("states no tone of such a record, which would be one of another frequency with a poor SINAD", () => {
    const matched = matchRecord(losing(137.3, 128, 7));
    expect(matched.findings[0]!.nulls).toContain("sinad");
    expect(matched.findings[0]!.nulls).toContain("inlMax");
    const { estimates } = measureTone(matched, seededRandom(1));
    expect(estimates.sinad).toMatchObject({ value: null });
  });

  it("does not take a tone that is set wrong for one that loses readings", () => {
    // Off by what 3 of 259 readings lost would shift it, and by other amounts, at 60 to 120 readings a cycle.
    for (const [i, off] of [3 / 256, 0.001, 0.02, 0.05, 0.11, -0.03].entries()) {
      const { record } = simulated(spec(sine(411.1 * (1 + off))), [], { readings: 6000, seed: i + 9 });
      const stated = { ...record, stimulus: { ...record.stimulus!, frequency: 411.1 } } as CaptureRecord;
      const found = matchRecord(stated).findings.map((f) => f.id);
      expect(found).toContain("frequency-mismatch");
      expect(found).not.toContain("readings-lost");
    }
  });

  it("does not take the converter's curve under a part of a cycle for losses", () => {
    for (let seed = 1; seed <= 12; seed++) {
      const { record } = simulated(
        spec(sine((0.8 * 50_000) / 12_000), { converter: converter({ bits: 8 }) }),
        ["noise=1", "bow=1", "s-curve=1"],
        {
          readings: 12_000,
          seed,
          converterSeed: seed,
        },
      );
      expect(matchRecord(record).findings.filter((f) => f.severity !== "note")).toEqual([]);
    }
  });
});
