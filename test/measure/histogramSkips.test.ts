import { describe, expect, it } from "vitest";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { measureHistogram } from "../../lib/measure/histogram.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { staticTruth } from "../../lib/simulate/staticTruth.ts";
import { converter, ramp, simulated, spec } from "../match/simulatedRecord.ts";

const READINGS = 16_384;

/** A 10-bit ramp at 16 readings a code, and what its converter truly is. */
function swept(faults: string[], seed: number) {
  const device = spec(ramp(), { converter: converter({ bits: 10 }) });
  const { record, capture } = simulated(device, ["noise=0.5", "dnl=0.03", ...faults], {
    readings: READINGS,
    seed,
    converterSeed: seed,
  });
  const matched = matchRecord(record);
  const { estimates } = measureHistogram(matched, seededRandom(1));
  return { matched, estimates, truth: staticTruth(capture.truth.transitions, record.scale, "endpoint") };
}

describe("a loss too small to be told from narrow codes", () => {
  it("25 readings, 1.6 LSB: no finding, and no figure that leaves the truth out", () => {
    // Five places; without the allowance INL was off by up to 1.6·max(p, 1 − p) LSB, several times its interval.
    for (const at of [1800, 5000, 8000, 11_000, 14_500]) {
      const { matched, estimates, truth } = swept([`lost=25@${at}`, "bow=0.8"], at);
      expect(matched.findings.filter((f) => f.severity !== "note")).toEqual([]);
      for (const name of ["inlMax", "inlMin", "totalUnadjustedError", "dnlMin"] as const) {
        const { low, high, method } = estimates[name]!;
        expect(method).toContain("narrow codes or lost readings");
        expect(low!).toBeLessThanOrEqual(truth[name]);
        expect(high!).toBeGreaterThanOrEqual(truth[name]);
      }
      expect(estimates.missingCodes!.low!).toBeLessThanOrEqual(truth.missingCodes);
    }
  });
  it("50 readings, 3.1 LSB, are readings lost, and the ramp gives no line", () => {
    const { matched, estimates } = swept(["lost=50@6000"], 3);
    expect(matched.findings.map((f) => f.id)).toContain("readings-lost");
    expect(estimates.inlMax!.value).toBeNull();
  });
  it("a sound ramp, and one with a missing code, are not doubted", () => {
    for (const faults of [[], ["missing-code=400"]]) {
      const { estimates } = swept([...faults, "bow=1"], 8);
      for (const name of ["inlMax", "inlMin", "dnlMin", "missingCodes"] as const)
        expect(estimates[name]!.method).not.toContain("lost readings");
    }
  });
});
