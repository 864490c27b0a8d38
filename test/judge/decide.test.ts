import { describe, expect, it } from "vitest";
import { judge } from "../../lib/judge/decide.ts";
import { decideBound } from "../../lib/judge/decideBound.ts";
import { benchOf, captureOf, figureOf, limitOf, openFigure, sine, steps } from "./builtCapture.ts";

const rowsOf = (...args: Parameters<typeof judge>) => judge(...args).verdict.limits;
const only = (...args: Parameters<typeof judge>) => {
  const rows = rowsOf(...args);
  expect(rows).toHaveLength(1);
  return rows[0]!;
};

describe("decideBound", () => {
  const interval = (value: number | null, low: number | null, high: number | null) => ({ value, low, high });
  it("guarded: the whole interval inside passes, touching included", () => {
    expect(decideBound("max", 1, interval(0.9, 0.8, 1), "guarded")).toBe("pass");
    expect(decideBound("min", 1, interval(1.1, 1, 1.2), "guarded")).toBe("pass");
  });
  it("guarded: wholly outside fails, anything between is undecided", () => {
    expect(decideBound("max", 1, interval(1.2, 1.01, 1.4), "guarded")).toBe("fail");
    expect(decideBound("max", 1, interval(1.2, 1, 1.4), "guarded")).toBe("undecided");
    expect(decideBound("max", 1, interval(0.9, 0.7, 1.1), "guarded")).toBe("undecided");
    expect(decideBound("min", 1, interval(0.8, 0.7, 0.99), "guarded")).toBe("fail");
  });
  it("a bound without a value decides on its own side only", () => {
    expect(decideBound("max", 0.5, interval(null, null, 0.3), "guarded")).toBe("pass");
    expect(decideBound("max", 0.2, interval(null, null, 0.3), "guarded")).toBe("undecided");
    expect(decideBound("min", 0.5, interval(null, null, 0.3), "guarded")).toBe("fail");
    expect(decideBound("max", 0.5, interval(null, 0.6, null), "simple")).toBe("fail");
  });
  it("simple: the value alone", () => {
    expect(decideBound("max", 1, interval(1, 0.5, 1.5), "simple")).toBe("pass");
    expect(decideBound("max", 1, interval(1.01, 0.5, 1.5), "simple")).toBe("fail");
  });
  it("nothing known is not measured, under either rule", () => {
    expect(decideBound("max", 1, interval(null, null, null), "guarded")).toBe("not measured");
    expect(decideBound("max", 1, interval(null, null, null), "simple")).toBe("not measured");
  });
});

describe("judge", () => {
  it("without limits there is no verdict", () => {
    expect(judge(benchOf([]), [captureOf("tone", { enob: figureOf(10, 0.1) })]).verdict).toEqual({
      decision: "none",
      limits: [],
    });
  });
  it("fail comes before undecided, undecided before pass", () => {
    const capture = captureOf("tone", { enob: figureOf(10, 0.1), sinad: figureOf(62, 0.5), snr: figureOf(63, 0.5) });
    const pass = limitOf("enob", { min: 9.9 });
    const undecided = limitOf("sinad", { min: 62.1 });
    const fail = limitOf("snr", { min: 70 });
    expect(judge(benchOf([pass]), [capture]).verdict.decision).toBe("pass");
    expect(judge(benchOf([pass, undecided]), [capture]).verdict.decision).toBe("undecided");
    expect(judge(benchOf([pass, undecided, fail]), [capture]).verdict.decision).toBe("fail");
  });
  it("min and max of one metric are two rows, and one failing row fails", () => {
    const { verdict } = judge(benchOf([limitOf("meanCode", { min: 100, max: 200 })]), [
      captureOf("steady", { meanCode: figureOf(250, 1) }),
    ]);
    expect(verdict.limits.map((r) => [r.bound, r.decision])).toEqual([
      ["min", "pass"],
      ["max", "fail"],
    ]);
    expect(verdict.decision).toBe("fail");
  });
  it("the capture with the smallest interval judges, whichever way its value lies", () => {
    const wide = captureOf("short", { enob: figureOf(11, 0.4) });
    const narrow = captureOf("long", { enob: figureOf(10, 0.1) });
    for (const captures of [
      [wide, narrow],
      [narrow, wide],
    ])
      expect(only(benchOf([limitOf("enob", { min: 10.2 })]), captures)).toMatchObject({
        capture: "long",
        decision: "fail",
      });
  });
  it("`capture:` overrides the choice", () => {
    const captures = [captureOf("short", { enob: figureOf(11, 0.4) }), captureOf("long", { enob: figureOf(10, 0.1) })];
    expect(only(benchOf([limitOf("enob", { min: 10.2, capture: "short" })]), captures)).toMatchObject({
      capture: "short",
      decision: "pass",
    });
  });
  it("a capture that disagrees beyond the joint interval is found, one within it is not", () => {
    const judged = captureOf("a", { enob: figureOf(10, 0.3) });
    // Joint half-width √(0.3² + 0.4²) = 0.5.
    const agrees = judge(benchOf([limitOf("enob", { min: 9 })]), [
      judged,
      captureOf("b", { enob: figureOf(10.49, 0.4) }),
    ]);
    const differs = judge(benchOf([limitOf("enob", { min: 9, max: 12 })]), [
      judged,
      captureOf("b", { enob: figureOf(10.51, 0.4) }),
    ]);
    expect(agrees.findings.size).toBe(0);
    // Once, although min and max both saw it.
    expect(differs.findings.get("b")).toHaveLength(1);
    expect(differs.findings.get("b")![0]).toMatchObject({ id: "captures-disagree", nulls: [] });
  });
  it("each channel is judged when several are named", () => {
    const captures = [
      captureOf("one", { enob: figureOf(10.6, 0.1) }, { channel: "adc0", stated: "adc0" }),
      captureOf("two", { enob: figureOf(9, 0.2) }, { channel: "adc1", stated: "adc1" }),
    ];
    const rows = rowsOf(benchOf([limitOf("enob", { min: 10 })]), captures);
    expect(rows.map((r) => [r.channel, r.decision])).toEqual([
      ["adc0", "pass"],
      ["adc1", "fail"],
    ]);
    expect(only(benchOf([limitOf("enob", { min: 10, channel: "ADC1" })]), captures).decision).toBe("fail");
  });
  it("differently named columns of one channel stand in for each other when no channel is named", () => {
    const captures = [
      captureOf(
        "tone",
        { enob: figureOf(10.6, 0.1), inlMax: openFigure(null, null), inlMin: openFigure(null, null) },
        { channel: "code" },
      ),
      captureOf("ramp", { inlMax: figureOf(0.5, 0.1), inlMin: figureOf(-0.4, 0.1) }, { channel: "ADC0" }),
    ];
    expect(judge(benchOf([limitOf("enob", { min: 10 }), limitOf("inl", { max: 1 })]), captures).verdict.decision).toBe(
      "pass",
    );
  });
  it("each setting is judged: a converter override makes another one", () => {
    const captures = [
      captureOf("fast", { enob: figureOf(9.2, 0.1) }, { bits: 10 }),
      captureOf("slow", { enob: figureOf(10.8, 0.1) }),
    ];
    expect(rowsOf(benchOf([limitOf("enob", { min: 10 })]), captures).map((r) => r.decision)).toEqual(["fail", "pass"]);
  });
  it("a limit that no capture determines is not measured, and the verdict undecided", () => {
    const { verdict } = judge(benchOf([limitOf("thd", { max: -65 })]), [
      captureOf("steady", { noiseRms: figureOf(0.5, 0.1) }),
    ]);
    expect(verdict.decision).toBe("undecided");
    expect(verdict.limits[0]).toMatchObject({ decision: "not measured", value: null, unit: "dBc" });
    expect(verdict.limits[0]!.remedy).toContain("sine");
  });
  it("a capture that tried and could not gives its reason", () => {
    const row = only(benchOf([limitOf("thd", { max: -65 })]), [
      captureOf("tone", { thd: openFigure(null, null, "stimulus clips") }),
    ]);
    expect(row.decision).toBe("not measured");
    expect(row.remedy).toBe("In tone: stimulus clips.");
  });
  it("a channel whose only capture could not tell keeps the limit open, though the other channel passes", () => {
    const captures = [
      captureOf("one", { enob: figureOf(10.6, 0.1) }, { channel: "adc0", stated: "adc0" }),
      captureOf("two", { enob: openFigure(null, null, "stimulus clips") }, { channel: "adc1", stated: "adc1" }),
    ];
    expect(judge(benchOf([limitOf("enob", { min: 10 })]), captures).verdict.decision).toBe("undecided");
  });
  it("a one-sided bound without a value still decides", () => {
    const capture = captureOf("steady", { noiseRms: openFigure(null, 0.25) });
    expect(only(benchOf([limitOf("noiseRms", { max: 0.5 })]), [capture])).toMatchObject({
      decision: "pass",
      value: null,
      high: 0.25,
    });
    expect(only(benchOf([limitOf("noiseRms", { max: 0.2 })]), [capture]).decision).toBe("undecided");
  });
});

describe("limits on magnitudes", () => {
  it("an offset of either sign is held to its maximum by magnitude", () => {
    for (const sign of [1, -1])
      for (const [value, decision] of [
        [1.5, "pass"],
        [2.5, "fail"],
        [1.95, "undecided"],
      ] as const)
        expect(
          only(benchOf([limitOf("offsetError", { max: 2 })]), [
            captureOf("ramp", { offsetError: figureOf(sign * value, 0.1) }),
          ]),
        ).toMatchObject({
          decision,
          value,
        });
  });
  it("an interval that holds zero reaches from zero to its further end", () => {
    expect(
      only(benchOf([limitOf("gainError", { max: 0.5 })]), [captureOf("ramp", { gainError: figureOf(-0.1, 0.3) })]),
    ).toMatchObject({
      low: 0,
      decision: "pass",
    });
  });
  it("a negative minimum asks for the signed error", () => {
    expect(
      only(benchOf([limitOf("offsetError", { min: -2 })]), [captureOf("ramp", { offsetError: figureOf(-3, 0.1) })])
        .decision,
    ).toBe("fail");
  });
  it("inl is the larger magnitude of both ends", () => {
    const capture = captureOf("ramp", { inlMax: figureOf(0.5, 0.1), inlMin: figureOf(-1.5, 0.1) });
    expect(only(benchOf([limitOf("inl", { max: 1.7 })]), [capture])).toMatchObject({ value: 1.5, decision: "pass" });
    expect(only(benchOf([limitOf("inl", { max: 1.3 })]), [capture]).decision).toBe("fail");
    expect(only(benchOf([limitOf("inl", { max: 1.55 })]), [capture]).decision).toBe("undecided");
  });
  it("inl with one end open cannot pass, but fails by the other", () => {
    const capture = captureOf("ramp", { inlMax: openFigure(null, null), inlMin: figureOf(-1.5, 0.1) });
    expect(only(benchOf([limitOf("inl", { max: 1.7 })]), [capture]).decision).toBe("undecided");
    expect(only(benchOf([limitOf("inl", { max: 1 })]), [capture]).decision).toBe("fail");
  });
  it("the lower end is taken back where both ends could be the larger", () => {
    const apart = only(benchOf([limitOf("inl", { max: 9 })]), [
      captureOf("r", { inlMax: figureOf(2, 0.2), inlMin: figureOf(-1, 0.2) }),
    ]);
    const level = only(benchOf([limitOf("inl", { max: 9 })]), [
      captureOf("r", { inlMax: figureOf(2, 0.2), inlMin: figureOf(-2, 0.2) }),
    ]);
    expect(apart.low).toBeCloseTo(1.8, 12);
    // One of two, each 1.25 % on its side: 2.2414 standard deviations instead of 1.96.
    expect(level.low).toBeCloseTo(2 - (0.2 * 2.2414) / 1.96, 4);
    expect(level.high).toBeCloseTo(2.2, 12);
  });
});

describe("steps beside a capture of every code", () => {
  const points = captureOf(
    "steps",
    { inlMax: figureOf(0.2, 0.01), inlMin: figureOf(-0.2, 0.01), offsetError: figureOf(1.4, 0.05) },
    { stimulus: steps },
  );
  const codes = captureOf("tone", {
    inlMax: figureOf(1.2, 0.1),
    inlMin: figureOf(-0.9, 0.1),
    offsetError: figureOf(0.5, 0.2),
  });
  it("do not judge INL, whatever their interval: what lies between the levels was not tested", () => {
    expect(only(benchOf([limitOf("inl", { max: 1 })]), [points, codes])).toMatchObject({
      capture: "tone",
      decision: "fail",
    });
    expect(only(benchOf([limitOf("inl", { max: 1 })]), [points])).toMatchObject({ capture: "steps", decision: "pass" });
  });
  it("judge offset by their smaller interval, and an offset that INL explains is no disagreement", () => {
    const { verdict, findings } = judge(benchOf([limitOf("offsetError", { max: 2 })]), [points, codes]);
    expect(verdict.limits[0]!.capture).toBe("steps");
    expect(findings.size).toBe(0);
  });
});

describe("a source's own impurity", () => {
  it("turns a THD fail that it could explain into undecided, and leaves one that it could not", () => {
    // In phase, −70 dB of the source and −72 of the converter make −65.
    const figures = { thd: figureOf(-65, 0.5) };
    const explained = only(benchOf([limitOf("thd", { max: -68 })]), [
      captureOf("tone", figures, { stimulus: sine({ thd: -70, snr: null }) }),
    ]);
    expect(explained.decision).toBe("undecided");
    expect(explained.remedy).toContain("purer source");
    expect(
      only(benchOf([limitOf("thd", { max: -68 })]), [
        captureOf("tone", figures, { stimulus: sine({ thd: -100, snr: null }) }),
      ]).decision,
    ).toBe("fail");
    expect(only(benchOf([limitOf("thd", { max: -68 })]), [captureOf("tone", figures)]).decision).toBe("fail");
  });
  it("takes noise off as power: 60 dB with a source of 63 dB is a converter of 63 dB", () => {
    const capture = captureOf("tone", { snr: figureOf(60, 0.001) }, { stimulus: sine({ thd: null, snr: 63.01 }) });
    expect(only(benchOf([limitOf("snr", { min: 62.9 })]), [capture]).decision).toBe("undecided");
    expect(only(benchOf([limitOf("snr", { min: 63.2 })]), [capture]).decision).toBe("fail");
  });
  it("acts on enob through sinad, by no more than the distortion that was measured", () => {
    const figures = { enob: figureOf(9.7, 0.02), sinad: figureOf(60, 0.1), thd: figureOf(-80, 1) };
    const dirty = captureOf("tone", figures, { stimulus: sine({ thd: -60, snr: null }) });
    // −80 dBc against −60 dB of everything: 0.04 dB at most.
    expect(only(benchOf([limitOf("enob", { min: 9.8 })]), [dirty]).decision).toBe("fail");
    const noisy = captureOf("tone", figures, { stimulus: sine({ thd: null, snr: 61 }) });
    expect(only(benchOf([limitOf("enob", { min: 10.5 })]), [noisy]).decision).toBe("undecided");
  });
  it("does not act on INL or offset", () => {
    const capture = captureOf("tone", { offsetError: figureOf(5, 0.1) }, { stimulus: sine({ thd: -40, snr: 40 }) });
    expect(only(benchOf([limitOf("offsetError", { max: 2 })]), [capture]).decision).toBe("fail");
  });
});
