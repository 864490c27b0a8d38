import { describe, expect, it } from "vitest";
import { INDEPENDENT } from "../../lib/compare/difference.ts";
import { fitLine } from "../../lib/signal/linearFit.ts";
import { weightedSlope } from "../../lib/trend/slope.ts";
import { trend } from "../../lib/trend/trend.ts";
import { capture, converter, figure, result } from "../compare/builtResult.ts";

const at = (firmware: string, written: string | null, enob: number | null, u = 0.05) => ({
  name: `${firmware}.json`,
  result: result(
    [
      capture("tone", {
        metrics: { enob: figure("enob", enob, u, enob === null ? { reason: "stimulus clips" } : {}) },
      }),
    ],
    {
      written,
      conditions: { firmware, board: "A-07" },
    },
  ),
});
const options = { asGiven: false, metrics: [], shared: INDEPENDENT };

describe("trend", () => {
  const r1 = at("r1", "2025-01-10T10:00:00Z", 10.0);
  const r2 = at("r2", "2025-02-10T10:00:00Z", 10.01);
  const r3 = at("r3", "2025-03-10T10:00:00Z", 9.7);

  it("orders by date and labels by the condition that varies", () => {
    const t = trend([r3, r1, r2], options);
    expect(t.points.map((p) => p.label)).toEqual(["r1", "r2", "r3"]);
    expect(t.order).toBe("by date");
    expect(trend([r3, r1, r2], { ...options, asGiven: true }).points.map((p) => p.label)).toEqual(["r3", "r1", "r2"]);
    expect(trend([r3, at("r0", null, 9)], options).order).toBe("as given");
  });

  it("says whether the last step is more than its uncertainty", () => {
    const s = trend([r1, r2, r3], options).series[0]!;
    expect(s.lastStep).toMatchObject({ from: 1, to: 2, exceeds: true });
    expect(s.lastStep!.difference.value).toBeCloseTo(-0.31, 12);
    // Two ±0.05: ±0.0707.
    expect(s.lastStep!.difference.uncertainty).toBeCloseTo(Math.hypot(0.05, 0.05), 9);
    expect(s.sentence).toContain("From r2 to r3 it changed by −0.310 ± 0.071 bit, more than the uncertainty.");
    expect(trend([r1, r2], options).series[0]!.lastStep!.exceeds).toBe(false);
  });

  it("keeps a point that was not measured as a gap, and says why when it is the last", () => {
    const t = trend([r1, r2, r3, at("r4", "2025-04-10T10:00:00Z", null)], options).series[0]!;
    expect(t.figures[3]!.value).toBeNull();
    expect(t.lastStep).toMatchObject({ from: 1, to: 2 });
    expect(t.sentence).toContain("Not measured in r4: stimulus clips.");
  });

  it("follows a capture that only earlier results had", () => {
    const extra = {
      ...r1,
      result: {
        ...r1.result,
        captures: [
          ...r1.result.captures,
          capture("noise", { stimulus: { kind: "steady" }, metrics: { noiseRms: figure("noiseRms", 1, 0.1) } }),
        ],
      },
    };
    const again = { ...r2, result: { ...r2.result, captures: [...r2.result.captures, extra.result.captures[1]!] } };
    expect(trend([extra, again, r3], options).series.map((s) => [s.metric, s.capture])).toEqual([
      ["enob", "tone"],
      ["noiseRms", "noise"],
    ]);
  });

  it("follows noise in volts where the resolution changed", () => {
    const noise = (bits: number, value: number) => ({
      name: `${bits}.json`,
      result: result([
        capture("noise", {
          stimulus: { kind: "steady" },
          converter: converter({ bits }),
          metrics: { noiseRms: figure("noiseRms", value, 0.01) },
        }),
      ]),
    });
    const s = trend([noise(10, 0.5), noise(12, 2)], { ...options, asGiven: true }).series[0]!;
    expect(s.unit).toBe("V");
    expect(s.figures.map((f) => f!.value)).toEqual([0.5 * 0.004, 2 * 0.001]);
  });

  it("carries the last result's limits", () => {
    const limited = {
      ...r3,
      result: {
        ...r3.result,
        verdict: {
          decision: "pass" as const,
          limits: [
            {
              metric: "enob" as const,
              bound: "min" as const,
              limit: 9.5,
              unit: "bit",
              capture: null,
              channel: null,
              value: 9.7,
              low: 9.65,
              high: 9.75,
              uncertainty: 0.05,
              decision: "pass" as const,
              remedy: null,
            },
          ],
        },
      },
    };
    expect(trend([r1, limited], options).series[0]!.limits).toEqual([{ bound: "min", limit: 9.5 }]);
  });
});

describe("weightedSlope", () => {
  it("has the closed form's slope and uncertainty for equal weights", () => {
    // Var slope = u²/Σ(x − x̄)²: five points, Σ = 10.
    const s = weightedSlope([0, 1, 2, 3, 4], [1, 2, 3, 4, 5], [0.1, 0.1, 0.1, 0.1, 0.1])!;
    expect(s.perStep).toBeCloseTo(1, 12);
    expect(s.uncertainty).toBeCloseTo((1.959964 * 0.1) / Math.sqrt(10), 6);
    expect(s.scatter).toBeCloseTo(0, 9);
  });
  it("agrees with ordinary least squares where the scatter decides: Birge's factor is the residual's own", () => {
    const x = [0, 1, 2, 3, 4, 5];
    const y = [0, 3, 1, 5, 2, 7];
    const s = weightedSlope(
      x,
      y,
      x.map(() => 0.01),
    )!;
    const plain = fitLine(x, y);
    // t(0.975, 4 dof) = 2.776445 (table of Student's t).
    expect(s.perStep).toBeCloseTo(plain.slope, 12);
    expect(s.uncertainty).toBeCloseTo(2.776445 * plain.slopeSd!, 5);
  });
  it("weighs a point that is known better more", () => {
    const s = weightedSlope([0, 1, 2], [0, 1, 5], [0.01, 0.01, 10])!;
    expect(s.perStep).toBeCloseTo(1, 3);
  });
  it("is not claimed of two points", () => expect(weightedSlope([0, 1], [0, 1], [1, 1])).toBeNull());
});
