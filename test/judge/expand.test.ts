import { describe, expect, it } from "vitest";
import { expand } from "../../lib/judge/expand.ts";
import { expandAll } from "../../lib/judge/expandAll.ts";
import type { LimitInterval } from "../../lib/judge/limitInterval.ts";
import { remedyFor } from "../../lib/judge/remedy.ts";
import { significant } from "../../lib/judge/significant.ts";
import { estimateOf } from "./builtCapture.ts";

describe("expand", () => {
  it("leaves a record's own interval alone where the source adds nothing", () => {
    const figure = expand(estimateOf(1, 0.098));
    expect(figure.low).toBeCloseTo(0.902, 12);
    expect(figure.uncertainty).toBeCloseTo(0.098, 12);
  });
  it("adds a rectangle by convolution, not by k = 2", () => {
    // A rectangle of ±1 and a normal part of u = 0.2.
    const figure = expand(estimateOf(0, 0.2 * 1.959963985, [{ from: "source amplitude", halfWidth: 1 }]));
    expect(figure.uncertainty!).toBeGreaterThan(0.95);
    expect(figure.uncertainty!).toBeLessThan(1.96 * Math.hypot(0.2, Math.sqrt(1 / 3)));
  });
  it("widens the sides of an asymmetric interval apart", () => {
    const figure = expand(estimateOf(1, 0, [{ from: "source gain", halfWidth: 0.1 }], { low: 0.9, high: 1.5 }));
    expect(figure.low!).toBeGreaterThan(0.85);
    expect(figure.low!).toBeLessThan(0.9);
    // Towards the top the normal part is so much the larger that variances add: 1.96·√((0.5/1.96)² + 0.1²/3).
    expect(figure.high!).toBeCloseTo(1 + 1.96 * Math.hypot(0.5 / 1.96, 0.1 / Math.sqrt(3)), 3);
    expect(figure.uncertainty).toBeCloseTo((figure.high! - figure.low!) / 2, 12);
  });
  it("keeps an open end open and moves a bound outwards", () => {
    const figure = expand(
      estimateOf(null, 0, [{ from: "source gain", halfWidth: 0.1 }], { high: 0.3, reason: "one code" }),
    );
    expect(figure).toMatchObject({ value: null, low: null, uncertainty: null, reason: "one code" });
    expect(figure.high).toBeCloseTo(0.395, 12);
  });
  it("says that readings would not help where the source dominates", () => {
    const { budget } = expand(estimateOf(1, 0.01, [{ from: "source amplitude", halfWidth: 0.5 }]));
    expect(budget.advice).toBe("Ten times the readings would not help: the source amplitude's ±0.50 LSB dominates.");
    expect(budget.parts).toEqual([
      { from: "this record's readings", kind: "record", halfWidth: expect.closeTo(0.01, 12) },
      { from: "source amplitude", kind: "limit", halfWidth: 0.5 },
    ]);
  });
  it("says what ten times the readings would bring where they would help", () => {
    expect(expand(estimateOf(1, 0.1)).budget.advice).toContain("bring ±0.10 LSB down to about ±0.032 LSB");
  });
  it("does not promise readings against quantisation", () => {
    const shares = [
      { from: "number of readings", standard: 0.001 },
      { from: "quantisation of quiet levels", standard: 0.2 },
    ];
    expect(expand(estimateOf(1, 0.39, [], { shares })).budget.advice).toContain("hardly help");
  });
});

describe("expandAll", () => {
  it("nulls what a finding spoils, bounds included, and says which", () => {
    const spoiling = {
      id: "clipped",
      severity: "error",
      text: "12 readings lie on code 4095.",
      cause: "",
      advice: "",
      readings: [],
      nulls: ["noiseRms", "codeRms"],
    } as const;
    const figures = expandAll(
      {
        noiseRms: estimateOf(1, 0.1),
        codeRms: estimateOf(null, 0, [], { high: 0.2, reason: "one code" }),
        meanCode: estimateOf(5, 1),
      },
      [spoiling],
    );
    expect(figures.noiseRms).toMatchObject({
      value: null,
      low: null,
      high: null,
      reason: "clipped: 12 readings lie on code 4095.",
    });
    expect(figures.codeRms).toMatchObject({ value: null, high: null });
    expect(figures.meanCode!.value).toBe(5);
  });
});

describe("remedyFor", () => {
  const asked = (
    value: number,
    half: number,
    limit: number,
    limits: { from: string; halfWidth: number }[] = [],
  ): string => {
    const figure = expand(estimateOf(value, half, limits));
    const interval: LimitInterval = { ...figure, width: figure.high! - figure.low!, figure };
    return remedyFor(interval, limit, 10_000);
  };
  it("half the interval takes four times the readings", () => {
    expect(asked(1, 0.2, 1.1)).toBe(
      "About 40 000 readings (this capture has 10 000) would decide: ±0.10 LSB is needed.",
    );
  });
  it("a source that is too coarse is named, with how much better it has to be", () => {
    const text = asked(1, 0.01, 1.1, [{ from: "source gain", halfWidth: 0.5 }]);
    expect(text).toContain("More readings would not decide");
    // 0.1 is wanted of what is now about 0.475.
    expect(text).toMatch(/gain is known (4\.[5-9]|5\.[0-9]) times better/);
  });
  it("both are named where both are needed", () => {
    expect(asked(1, 0.3, 1.1, [{ from: "source gain", halfWidth: 0.5 }])).toMatch(
      /^Both .* readings .* would be needed/,
    );
  });
  it("a value on the limit is not worth waiting for", () => {
    expect(asked(1, 0.2, 1)).toContain("no practical capture");
  });
});

describe("significant", () => {
  it("writes two digits, thousands apart, true minus", () => {
    expect(significant(0.03512)).toBe("0.035");
    expect(significant(1234567)).toBe("1 200 000");
    expect(significant(-0.996)).toBe("−1.0");
    expect(significant(0)).toBe("0");
    expect(significant(2.3e-7)).toBe("2.3e−7");
    expect(significant(9.99, 2)).toBe("10");
  });
});

describe("expand of an estimate that ran off to infinity", () => {
  const base = { unit: "dB", method: "m", limits: [] };
  it("opens the end, and keeps the other", () => {
    const figure = expand({ ...base, value: 60, low: Number.NEGATIVE_INFINITY, high: 62 });
    expect(figure).toMatchObject({ value: 60, low: null, uncertainty: null });
    expect(figure.high).toBeCloseTo(62, 9);
  });
  it("gives no value that is no number, but a reason", () => {
    const figure = expand({ ...base, value: Number.NaN, low: null, high: null });
    expect(figure.value).toBeNull();
    expect(figure.reason).toContain("longer");
  });
});
