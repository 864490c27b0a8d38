import { describe, expect, it } from "vitest";
import { readBench } from "../lib/bench/readBench.ts";
import { parseResult } from "../lib/parseResult.ts";
import { rejudge } from "../lib/rejudge.ts";
import { scoreSession } from "../lib/score.ts";
import { toResult } from "../lib/toResult.ts";
import { trial } from "./calibrate/conditions.ts";

const bench = (limits: object) => {
  const { bench } = readBench(
    JSON.stringify({
      title: "t",
      converter: { bits: 12, range: { low: 0, high: 2.5 } },
      captures: [{ name: "c", file: "c.csv", stimulus: { kind: "steady" } }],
      limits,
    }),
    "t.json",
  );
  return bench!;
};

describe("a result judged again", () => {
  const { score } = trial({ stimulus: "steady", bits: 12, noise: 1, readings: 2000 }, 5);
  const first = toResult(scoreSession(bench({ noiseRms: { max: 2 } }), [score]), { version: "0", written: null });
  const read = parseResult(JSON.stringify(first), "r.json");

  it("comes to the same verdict by its own limits", () => {
    expect(rejudge(read, null).result.verdict.limits).toEqual(first.verdict.limits);
  });

  it("fails by a stricter limit that lies outside the interval", () => {
    // σ is 1 LSB and known to a few per cent from 2 000 readings.
    expect(rejudge(read, bench({ noiseRms: { max: 0.5 } })).session.verdict.decision).toBe("fail");
  });

  it("carries a result unchanged through JSON", () => {
    expect(read).toEqual(JSON.parse(JSON.stringify(first)));
  });

  it("names every place of a damaged result", () => {
    const damaged = JSON.parse(JSON.stringify(first));
    damaged.captures[0].readings = "many";
    damaged.bench.converter.bits = 99;
    expect(() => parseResult(JSON.stringify(damaged), "r.json")).toThrow(/bits[\s\S]*readings/);
  });
});
