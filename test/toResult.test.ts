import { describe, expect, it } from "vitest";
import { METRIC_NAMES } from "../lib/bench/metrics.ts";
import { readBench } from "../lib/bench/readBench.ts";
import { scoreSession } from "../lib/score.ts";
import { toResult } from "../lib/toResult.ts";
import { trial } from "./calibrate/conditions.ts";

describe("toResult", () => {
  const { score } = trial({ stimulus: "ramp", bits: 8, noise: 0.3, readings: 4096 }, 3);
  const { bench } = readBench(
    JSON.stringify({ title: "t", converter: { bits: 8, range: { low: 0, high: 2.5 } }, stimulus: { kind: "steady" } }),
    "t.json",
  );
  const result = toResult(scoreSession(bench!, [score]), { version: "1.2.3", written: "2026-01-01T00:00:00.000Z" });
  const text = JSON.stringify(result);

  it("is plain JSON without a lost number", () => {
    // JSON turns NaN and Infinity into null; a figure with a value and no reason for null must not have become one.
    for (const [name, figure] of Object.entries(result.captures[0]!.metrics)) {
      expect(METRIC_NAMES).toContain(name);
      for (const x of [figure.value, figure.low, figure.high, figure.uncertainty])
        expect(x === null || Number.isFinite(x), name).toBe(true);
      if (figure.value === null && figure.low === null && figure.high === null)
        expect(figure.reason, name).toBeTruthy();
    }
    expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(result)));
  });

  it("has the keys of codestair-result/1", () => {
    expect(result.schema).toBe("codestair-result/1");
    expect(result.tool).toEqual({ name: "codestair", version: "1.2.3" });
    expect(result.captures[0]).toMatchObject({ name: "c", file: "c.csv", readings: 4096, fit: null });
    expect(result.captures[0]!.sampleRate).toMatchObject({ value: 50_000, unit: "Hz", basis: "stated" });
    expect(result.verdict).toEqual({ decision: "none", limits: [] });
  });

  it("gives transitions as parallel arrays, null where a code was not tested", () => {
    const { codes, volts, standard, inl, dnl } = result.captures[0]!.transitions!;
    expect(new Set([codes, volts, standard, inl, dnl].map((a) => a.length)).size).toBe(1);
    expect(volts.every((v) => v === null || Number.isFinite(v))).toBe(true);
  });
});
