import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { expandAll } from "../../lib/judge/expandAll.ts";
import { refineNoise } from "../../lib/judge/refineNoise.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import type { Curves } from "../../lib/measure/measurement.ts";
import { measureSteady } from "../../lib/measure/steady.ts";
import { binomialCdf } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { steadyRecord } from "../measure/steadyRecord.ts";
import { captureOf } from "./builtCapture.ts";

const scale = scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 });
const steady = {
  kind: "steady",
  voltage: 2,
  accuracy: { gain: 0, offset: 0, linearity: 0, repeatability: 0 },
} as const;

/** A steady capture and one that has measured the same converter's transitions to `u` LSB. */
function session(seed: number, sigma: number, u: number, bits = 12) {
  const random = seededRandom(seed);
  const T = simulatedTransitions(scale, { dnlSigma: 0.25, seed });
  const level = 2000 + 10 * random.uniform();
  const codes = Int32Array.from({ length: 800 }, () => convert(T, (level + sigma * random.normal()) * scale.lsb));
  const record: MatchedRecord = steadyRecord(codes, scale);
  const volts = Float64Array.from(T.subarray(1), (t) => t + u * scale.lsb * random.normal()).sort();
  const nothing = new Float64Array(volts.length);
  const curves: Curves = {
    transitions: {
      first: 1,
      line: "endpoint",
      volts,
      voltsU: nothing,
      inl: nothing,
      inlU: nothing,
      dnl: nothing,
      dnlU: new Float64Array(volts.length).fill(u * Math.SQRT2),
      missing: [],
      possiblyMissing: [],
    },
  };
  const plain = captureOf("steady", expandAll(measureSteady(record, random).estimates, []), { stimulus: steady });
  const ramp = captureOf("ramp", {}, { bits });
  return [
    { ...plain, record, findings: [], curves: {} },
    { ...ramp, record, findings: [], curves },
  ];
}

describe("refineNoise", () => {
  it("narrows the noise by measured code widths, says from where, and leaves the rest alone", () => {
    const captures = session(3, 0.6, 0.02);
    const [before] = captures;
    const [after, ramp] = refineNoise(captures);
    const { low, high, method } = after!.figures.noiseRms!;
    expect(high! - low!).toBeLessThan(0.4 * (before!.figures.noiseRms!.high! - before!.figures.noiseRms!.low!));
    expect(method).toContain("code widths from ramp");
    expect(after!.figures.meanCode).toBe(before!.figures.meanCode);
    expect(ramp).toBe(captures[1]);
  });
  it("holds the true noise", () => {
    const trials = 80;
    let held = 0;
    for (let seed = 1; seed <= trials; seed++) {
      const { low, high } = refineNoise(session(seed, 0.6, 0.03))[0]!.figures.noiseRms!;
      if ((low ?? 0) <= 0.6 && 0.6 <= (high ?? Infinity)) held++;
    }
    // A true share of 93 % falls below once in a thousand.
    expect(binomialCdf(held, trials, 0.93), `${held} of ${trials}`).toBeGreaterThan(0.001);
  });
  it("does not borrow from another setting, nor from widths known worse than assumed", () => {
    const other = session(5, 0.6, 0.02, 10);
    expect(refineNoise(other)[0]).toBe(other[0]);
    const vague = session(5, 0.6, 0.3);
    expect(refineNoise(vague)[0]).toBe(vague[0]);
  });
});
