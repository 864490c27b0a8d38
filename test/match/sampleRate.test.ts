import { describe, expect, it } from "vitest";
import type { Timing } from "../../lib/bench/bench.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { foldedFrequency } from "../../lib/match/foldedFrequency.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { conversionsPerReading, loopCost } from "../../lib/match/sampleRate.ts";
import { converter, simulated, sine, spec, steady } from "./simulatedRecord.ts";

const TIMING: Timing = { clock: 4e6, sampleCycles: 24, conversionCycles: 15, overheadCycles: 0 };

describe("foldedFrequency", () => {
  // CHECKS A2 (closed form): fs 1000, f 123, harmonics 1…10.
  it("folds the harmonics of 123 Hz sampled at 1000 Hz", () => {
    const seen = Array.from({ length: 10 }, (_, i) => Math.round(1000 * foldedFrequency((123 * (i + 1)) / 1000)));
    expect(seen).toEqual([123, 246, 369, 492, 385, 262, 139, 16, 107, 230]);
  });
  // CHECKS A1: fs 20 MHz, f 7 MHz; handbook figure (from memory there), recomputed.
  it("folds the harmonics of 7 MHz sampled at 20 MHz", () => {
    const seen = Array.from({ length: 9 }, (_, i) => Math.round(20 * foldedFrequency((7 * (i + 1)) / 20)));
    expect(seen).toEqual([7, 6, 1, 8, 5, 2, 9, 4, 3]);
  });
});

describe("loopCost", () => {
  // The project's own worked sentence (issue 2): 57.3 clocks, of which 24 + 15 are the converter's.
  it("says what the loop costs", () => {
    expect(loopCost(TIMING, 4e6 / 57.3)).toBe(
      "each reading takes 57.3 ADC clocks; sampling and conversion are 39, so 18.3 are overhead",
    );
  });
  it("says when the loop adds nothing, and when the rate is impossible", () => {
    expect(loopCost(TIMING, 4e6 / 39)).toContain("adds nothing");
    expect(loopCost(TIMING, 4e6 / 30)).toContain("longer than a reading takes");
  });
});

describe("sample rate of a record", () => {
  const readings = 4096;
  it("takes the stated rate first and tells the others", () => {
    const { record } = simulated(spec(sine(997), { converter: converter({ timing: TIMING }) }), [], {
      readings,
      time: true,
    });
    const { sampleRate } = matchRecord(record);
    expect(sampleRate?.basis).toBe("stated");
    expect(sampleRate?.value).toBe(50_000);
    expect(sampleRate?.remarks.join("; ")).toContain(
      "each reading takes 80 ADC clocks; sampling and conversion are 39, so 41 are overhead",
    );
    expect(sampleRate?.remarks.some((r) => r.includes("time stamps"))).toBe(true);
  });
  it("takes the time stamps next, whose interval covers the true rate", () => {
    const { record } = simulated(spec(sine(997)), [], { readings, time: true });
    const { sampleRate } = matchRecord({ ...record, spec: { ...record.spec, sampleRate: null } });
    expect(sampleRate?.basis).toBe("timestamps");
    // Stamps of 0.1 µs over 82 ms: one step in 820 000.
    expect(Math.abs((sampleRate?.value ?? 0) / 50_000 - 1)).toBeLessThan(1.3e-6);
    expect(Math.abs((sampleRate?.value ?? 0) - 50_000)).toBeLessThanOrEqual((sampleRate?.uncertainty ?? 0) * 1.0001);
  });
  it("takes the timing bits where nothing else is known", () => {
    const { record } = simulated(spec(steady(), { converter: converter({ timing: TIMING }), sampleRate: null }), [], {
      readings,
    });
    const { sampleRate } = matchRecord(record);
    expect(sampleRate?.basis).toBe("timing");
    expect(sampleRate?.value).toBeCloseTo(4e6 / 39, 6);
  });
  it("works the rate out from a known tone, and believes it over timing bits that know no overhead", () => {
    const bench = spec(sine(997), { converter: converter({ timing: TIMING }) });
    const { record } = simulated(bench, [], { readings });
    const { sampleRate, findings } = matchRecord({ ...record, spec: { ...record.spec, sampleRate: null } });
    expect(sampleRate?.basis).toBe("stimulus");
    // 20 ppm of the source's frequency plus what the fit leaves open.
    expect(Math.abs((sampleRate?.value ?? 0) / 50_000 - 1)).toBeLessThan(2e-5);
    expect(sampleRate?.remarks.join()).toContain("41 are overhead");
    expect(findings.filter((f) => f.severity !== "note")).toEqual([]);
  });
  it("finds the branch of an aliased tone from the timing bits", () => {
    const timing: Timing = { clock: 2e6, sampleCycles: 25, conversionCycles: 15, overheadCycles: 0 };
    const { record } = simulated(spec(sine(60_000), { converter: converter({ timing }) }), [], { readings });
    const { sampleRate } = matchRecord({ ...record, spec: { ...record.spec, sampleRate: null } });
    // 60 kHz sampled at 50 kHz shows at 10 kHz; unaliased it would need a rate of 300 kHz, which 40 clocks of 2 MHz do not allow.
    expect(Math.abs((sampleRate?.value ?? 0) / 50_000 - 1)).toBeLessThan(2e-5);
  });
  it("says when the stated rate and the time stamps disagree", () => {
    const { record } = simulated(spec(steady()), ["rate=-3"], { readings, time: true });
    expect(matchRecord(record).findings.map((f) => f.id)).toContain("rate-mismatch");
  });
  it("has no rate where nothing states one", () => {
    const { record } = simulated(spec(steady(), { sampleRate: null }), [], { readings });
    expect(matchRecord(record).sampleRate).toBeNull();
  });
});

describe("conversionsPerReading", () => {
  it("counts what the firmware sums and the channels that take turns", () => {
    const { bench } = readBench(
      JSON.stringify({
        title: "t",
        converter: { bits: 12, range: { low: 0, high: 1 }, averaging: { readings: 16, shift: 4 } },
        scan: { order: ["adc0", "adc1"], readingsPerVisit: 1 },
        stimulus: { kind: "steady" },
      }),
      "t.json",
    );
    expect(conversionsPerReading(bench!.captures[0]!)).toBe(32);
  });
});
